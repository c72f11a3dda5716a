import type { ReadyCup } from '../../plan/planned.js';
import type { Fact } from '../../store/facts.js';
import type { CupLabel } from '../../units/ids.js';
import { Refusal } from '../../units/refusal.js';
import { formatInstant, minutes, type UtcMs } from '../../units/time.js';
import type { Entering } from '../../visit/actions.js';
import type { Season } from '../../visit/season.js';
import { instantAt, isTime } from '../../visit/when.js';

/**
 * Forms that the crew fills in with a number pad, one question after the other. Pure: a form is what was asked, what was
 * answered and what is being typed; it knows no terminal and no store.
 */

/** What a form may look at while it asks. */
export interface Known {
  readonly season: Season;
  readonly now: UtcMs;
  /** Of this computer, for a visit that is opened here. */
  readonly zone: string;
  /** Whose name stands beside what is entered; null when nobody is named. */
  readonly who: string | null;
  /** Who entered something last, the latest first. */
  readonly names: () => readonly string[];
  readonly isMuted: boolean;
  /** Cups that an alarm says to replace, the most pressing first. */
  readonly toReplace: readonly string[];
  /** What was planned the evening before; empty when nothing was, or nobody named the plan. */
  readonly plan: readonly ReadyCup[];
}

export interface Choice {
  readonly value: string;
  /** What stands beside its number. */
  readonly text: string;
}

export interface Question {
  readonly key: string;
  readonly prompt: string;
  /** What Enter alone answers; null when something must be typed or chosen. */
  readonly otherwise: string | null;
  /** Offered by number. */
  readonly choices: readonly Choice[];
  /** Why an answer will not do; null when it does. */
  readonly check: (answer: string) => string | null;
  /** Said at this step. */
  readonly caution?: string | undefined;
  /** Whether it is answered in words, of which any sign may be a part. */
  readonly isInWords?: true;
}

export type Answers = ReadonlyMap<string, string>;

/** Something the crew can do. */
export interface Form {
  /** One or two words for the list. */
  readonly name: string;
  readonly title: string;
  /** Whether it happened at a time that may be told late. */
  readonly isTimed: boolean;
  /** Whether it only looks something up: nothing is recorded, so nothing is confirmed. */
  readonly isLookup?: true;
  /** The next question; null when all is answered. */
  readonly ask: (answers: Answers, known: Known) => Question | null;
  /** What will be recorded, in a few words. */
  readonly summary: (answers: Answers, known: Known) => string;
  readonly facts: (answers: Answers, known: Known, entering: Entering) => readonly Fact[];
  /** The zone in which times are told. */
  readonly zone: (answers: Answers, known: Known) => string;
}

export interface Filling {
  readonly form: Form;
  readonly answers: Answers;
  /** What is typed for the question that is open. */
  readonly typed: string;
  /** Why the last answer would not do. */
  readonly problem: string | null;
  /** Which page of what is offered is shown, from 0; one past the last is the first. */
  readonly offers: number;
}

/** The last question of every form: nothing is recorded without a key of its own. */
export const CONFIRM = 'confirm';
const AT = 'at';
const WITHIN = 'within';
const LATE = 'late';
/** Told this long after it happened, a time is asked for how sure it is. */
const LATE_AFTER = minutes(2);

export const begun = (form: Form, answers: Answers = new Map()): Filling => ({
  form,
  answers,
  typed: '',
  problem: null,
  offers: 0,
});

/** Who might enter instead: the next of the names in use; null when there is none. */
export function otherName({ who, names }: Pick<Known, 'who' | 'names'>): string | null {
  const all = [...new Set([...names(), ...(who === null ? [] : [who])])].sort();
  const next = all[(who === null ? 0 : all.indexOf(who) + 1) % all.length];
  return next === undefined || next === who ? null : next;
}

/** The question that is open. */
export function questionOf({ form, answers }: Filling, known: Known): Question {
  return form.ask(answers, known) ?? lateQuestion(form, answers, known) ?? confirmation(form, answers, known);
}

function lateQuestion(form: Form, answers: Answers, known: Known): Question | null {
  const at = answers.get(AT);
  if (at === undefined) return null;
  if (known.now - instantAt(at, form.zone(answers, known), known.now, 'The time') < LATE_AFTER) return null;
  if (!answers.has(WITHIN))
    return {
      key: WITHIN,
      prompt: 'To within how many minutes is that time sure? Enter: exact',
      otherwise: '0',
      choices: [],
      check: (answer) => (/^\d{1,3}$/.test(answer) ? null : 'Write whole minutes, as 2.'),
    };
  if (answers.has(LATE)) return null;
  return {
    key: LATE,
    prompt: 'Why is it entered late? Enter: no reason given',
    otherwise: '',
    choices: [
      { value: 'hands full', text: 'hands full' },
      { value: 'from paper', text: 'from paper' },
      { value: 'from the mark button', text: 'from the mark button' },
    ],
    check: () => null,
  };
}

/** What will be, or was, recorded, with its time and its reasons as they were given. */
export function tellingOf({ form, answers }: Pick<Filling, 'form' | 'answers'>, known: Known): string {
  const { at, withinMinutes, late } = timesIn(answers);
  const why = answers.get('why') ?? '';
  return [
    form.summary(answers, known),
    at === null ? '' : ` at ${at}`,
    withinMinutes === 0 ? '' : `, give or take ${withinMinutes} min`,
    why === '' ? '' : `: ${why}`,
    late === null ? '' : ` (entered late: ${late})`,
  ].join('');
}

function confirmation(form: Form, answers: Answers, known: Known): Question {
  const at = answers.get(AT);
  const asksTime = form.isTimed && at === undefined;
  return {
    key: CONFIRM,
    prompt: `${tellingOf({ form, answers }, known)}. Enter: record${known.who === null ? '' : ` by ${known.who}`}${asksTime ? ', as of now; or type the time, as 9.40' : ''}`,
    otherwise: '',
    choices: [],
    check(answer) {
      if (answer === '') return null;
      if (!asksTime) return 'Press Enter alone to record it, or * to go back.';
      // Some labels are digits, which would be a time of day.
      if (known.season.cups.has(answer as CupLabel))
        return `${answer} is the label of a cup. Enter alone records this; write a time with a point, as 9.40.`;
      return timeProblem(answer, form.zone(answers, known), known.now, known);
    },
  };
}

/** Why a typed time will not do, of that day in that zone; null when it does. */
export function timeProblem(
  answer: string,
  zone: string,
  day: UtcMs,
  { now }: Pick<Known, 'now'>,
): string | null {
  const time = clockTime(answer);
  if (!isTime(time)) return `${answer} is no time; write it as 9.40.`;
  try {
    return instantAt(time, zone, day) > now ? 'That time has not come yet.' : null;
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    return `${answer} happens twice or never on that day, for summer time changes; write the whole in UTC, as ${formatInstant(day)}.`;
  }
}

/** A time of day as a number pad writes it: 9:40, 09.40 or 0940. */
export function clockTime(text: string): string {
  const [, hours, minute] = /^(\d{1,2})[:.]?(\d{2})$/.exec(text) ?? [];
  return hours === undefined ? text : `${hours.padStart(2, '0')}:${minute}`;
}

/** What comes of Enter: the form goes on, or all is answered and the facts can be recorded. */
export interface Entered {
  readonly filling: Filling;
  readonly isComplete: boolean;
}

export function enter(filling: Filling, known: Known): Entered {
  const question = questionOf(filling, known);
  const refuse = (problem: string): Entered => ({ filling: { ...filling, problem }, isComplete: false });
  const answer = chosen(question, filling.typed.trim());
  if (answer === null) return refuse('Type something, or the number of a line.');
  const problem = question.check(answer);
  if (problem !== null) return refuse(problem);
  if (question.key === CONFIRM && answer === '') return { filling, isComplete: true };
  const key = question.key === CONFIRM ? AT : question.key;
  const value = key === AT ? clockTime(answer) : answer;
  const next: Filling = {
    ...filling,
    answers: new Map([...filling.answers, [key, value]]),
    typed: '',
    problem: null,
    offers: 0,
  };
  return {
    filling: next,
    isComplete: filling.form.isLookup === true && filling.form.ask(next.answers, known) === null,
  };
}

/** What a typed text means: a value that is offered, the number of one, else itself. */
function chosen({ choices, otherwise }: Question, typed: string): string | null {
  if (typed === '') return otherwise;
  if (choices.some(({ value }) => value === typed)) return typed;
  return (/^\d{1,2}$/.test(typed) ? choices[Number(typed) - 1]?.value : undefined) ?? typed;
}

/** One step back; null when there is none left. What is half typed goes first, then the last answer: it is asked for anew. */
export function stepBack(filling: Filling): Filling | null {
  if (filling.typed !== '') return { ...filling, typed: '', problem: null };
  const last = [...filling.answers.keys()].at(-1);
  if (last === undefined) return null;
  const answers = new Map(filling.answers);
  answers.delete(last);
  return { ...filling, answers, typed: '', problem: null, offers: 0 };
}

/** When it happened, to within what, and why it is told late, as far as that was answered. */
export const timesIn = (answers: Answers) => ({
  at: answers.get(AT) ?? null,
  withinMinutes: Number(answers.get(WITHIN) ?? 0),
  late: answers.get(LATE) || null,
});
