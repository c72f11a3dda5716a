import { RULINGS, type Ruling } from '../../exposure/types.js';
import { formatInstant } from '../../units/time.js';
import {
  correctEntry,
  noteCup,
  overruleCup,
  rulingNamed,
  spoilCup,
  withdrawEntry,
} from '../../visit/actions.js';
import { carrierNames } from '../../visit/carrierNames.js';
import { countsWithout, isCount } from '../../visit/countWithdrawal.js';
import { type Change, type Cup, type Entry, inOrder, isExposed } from '../../visit/cup.js';
import { entryText } from '../../visit/cupHistory.js';
import { correctable } from '../../visit/cupLifecycle.js';
import { instantAt } from '../../visit/when.js';
import { timeText } from '../view.js';
import {
  askChoice,
  askCup,
  askKind,
  askWords,
  cupAnswered,
  cupOf,
  firstOpen,
  slotMeant,
  zoneOfAnswered,
} from './asking.js';
import { type Answers, clockTime, type Form, type Known, type Question, timeProblem } from './form.js';

/** What people say of cups besides what happens to them: spoiling, notes, corrections, overrules. */

/** Any cup that will do, the last loaded first; one is always named, though it be the only one. */
function askAny(
  known: Known,
  willDo: (cup: Cup) => boolean = () => true,
  none = 'No cup was loaded yet.',
): Question {
  const prompt = 'Which cup?';
  const cups = [...known.season.cups.values()].reverse().filter(willDo);
  return {
    ...askCup(prompt, cups, known, none),
    prompt: cups.length === 0 ? none : prompt,
    otherwise: null,
  };
}

export const SPOIL: Form = {
  name: 'spoil',
  title: 'Mark a cup as spoiled: it must not count, whatever was read',
  isTimed: false,
  ask: (answers, known) =>
    firstOpen(
      answers,
      ['cup', () => askAny(known, ({ spoiled }) => spoiled === null)],
      [
        'why',
        () =>
          askWords('why', 'What happened?', null, [
            'lid came off',
            'cup broke',
            'bees got wet',
            'tray was smeared',
          ]),
      ],
    ),
  summary: (answers) => `Mark ${cupAnswered(answers)} as spoiled`,
  facts: (answers, _known, entering) => spoilCup(cupAnswered(answers), answers.get('why')!, entering),
  zone: zoneOfAnswered,
};

const OFTEN_NOTED = ['many dead bees', 'strip slipped', 'lid was loose', 'bees were wet'];

export const NOTE: Form = {
  name: 'note',
  title: 'Note something on a cup',
  isTimed: false,
  ask: (answers, known) =>
    firstOpen(
      answers,
      ['cup', () => askAny(known)],
      ['text', () => askWords('text', 'What is to be noted?', null, OFTEN_NOTED)],
    ),
  summary: (answers) => `Note on ${cupAnswered(answers)}: ${answers.get('text')}`,
  facts: (answers, _known, entering) => noteCup(cupAnswered(answers), answers.get('text')!, entering),
  zone: zoneOfAnswered,
};

const FIELD_NAMES: Readonly<Record<NonNullable<Change['field']>, string>> = {
  at: 'the time',
  withinMs: 'how sure the time is',
  carrier: 'the slot',
  slot: 'the slot',
  kind: 'with or without strip',
  active: 'the active',
  lot: 'the lot of the strip',
  colony: 'the colony',
  group: 'the mother line',
};

const entryAnswered = (answers: Answers, known: Pick<Known, 'season'>): Entry =>
  cupOf(answers, known).entries.find(({ seq }) => String(seq) === answers.get('entry'))!;

/** Somebody else may have withdrawn the entry meanwhile: it is asked for again, and what was said of it. */
function withoutGoneEntry(answers: Answers, known: Known): Answers {
  const entry = answers.get('entry');
  if (entry === undefined || cupOf(answers, known).entries.some(({ seq }) => String(seq) === entry))
    return answers;
  const left = new Map(answers);
  for (const key of ['entry', 'field', 'value']) left.delete(key);
  return left;
}

/** Entries that can be corrected or withdrawn, in order of time. */
function askEntry(answers: Answers, known: Known): Question {
  const zone = zoneOfAnswered(answers, known);
  const entries = inOrder(cupOf(answers, known).entries).filter(
    (entry) => correctable(entry.fact).length > 0 || isCount(entry),
  );
  return askChoice(
    'entry',
    'Which entry?',
    entries.map((entry) => ({
      value: String(entry.seq),
      text: `${timeText(entry.fact.at, zone)} ${entryText(entry, carrierNames(known.season))}`,
    })),
    null,
  );
}

export const WITHDRAW = 'withdraw';

/** A count is set right where counts are entered; here it can only be withdrawn. */
function askWithdrawal({ fact }: Entry): Question {
  const text =
    fact.type === 'count-corrected'
      ? `withdraw it: ${fact.old} was right`
      : 'withdraw it: it was not read of this cup';
  return askChoice(
    'field',
    'Enter: withdraw it. To set another number go back, and count again with 4, 5 or 6',
    [{ value: WITHDRAW, text }],
    WITHDRAW,
  );
}

/** What is read of a cup once a count is withdrawn; nothing for another entry. */
function thenText(answers: Answers, known: Known): string {
  const [cup, entry] = [cupOf(answers, known), entryAnswered(answers, known)];
  if (!isCount(entry)) return '';
  const { counts } = countsWithout(cup, entry);
  const changed = (['tray', 'wash', 'bees'] as const).filter((field) => counts[field] !== cup.counts[field]);
  return changed.map((field) => `, ${field} then ${counts[field] ?? 'not read'}`).join('');
}

export const CORRECT: Form = {
  name: 'correct',
  title: 'Correct or withdraw an entry; it stays on record',
  isTimed: false,
  ask: (told, known) => {
    const answers = withoutGoneEntry(told, known);
    const field = answers.get('field');
    return firstOpen(
      answers,
      ['cup', () => askAny(known)],
      ['entry', () => askEntry(answers, known)],
      [
        'field',
        () => {
          const entry = entryAnswered(answers, known);
          if (isCount(entry)) return askWithdrawal(entry);
          const { fact } = entry;
          const fields = correctable(fact).filter((each) => each !== 'carrier');
          return askChoice(
            'field',
            'What is wrong with it?',
            [
              ...fields.map((each) => ({ value: each, text: FIELD_NAMES[each] })),
              ...(fact.type === 'cup-loaded' ? [] : [{ value: WITHDRAW, text: 'it did not happen' }]),
            ],
            null,
          );
        },
      ],
      field === WITHDRAW ? null : ['value', () => askValue(answers, known)],
      [
        'why',
        () =>
          askWords('why', 'Why was it wrong?', null, ['written down wrongly', 'typed wrongly', 'wrong cup']),
      ],
    );
  },
  summary: (answers, known) => {
    const entry = `"${entryText(entryAnswered(answers, known), carrierNames(known.season))}" of ${cupAnswered(answers)}`;
    const field = answers.get('field')!;
    return field === WITHDRAW
      ? `Withdraw ${entry}${thenText(answers, known)}`
      : `Correct ${entry}: ${FIELD_NAMES[field as NonNullable<Change['field']>]} becomes ${answers.get('value') || 'none'}`;
  },
  facts: (answers, known, entering) => {
    const [cup, entry, why] = [cupOf(answers, known), entryAnswered(answers, known), answers.get('why')!];
    if (answers.get('field') === WITHDRAW) return withdrawEntry(cup, entry, why, entering);
    return correctEntry(cup, entry, changes(answers, known), why, entering);
  },
  zone: zoneOfAnswered,
};

function askValue(answers: Answers, known: Known): Question {
  const field = answers.get('field') as NonNullable<Change['field']>;
  const { season } = known;
  const zone = zoneOfAnswered(answers, known);
  const { fact } = entryAnswered(answers, known);
  switch (field) {
    case 'at':
      return {
        ...askWords('value', 'The right time, as 9.40?', null),
        check: (answer) => timeProblem(answer, zone, fact.at, known),
      };
    case 'withinMs':
      return {
        ...askWords('value', 'To within how many minutes is it sure?', null),
        check: (answer) => (/^\d{1,3}$/.test(answer) ? null : 'Write whole minutes, as 2.'),
      };
    case 'slot':
    case 'carrier':
      return {
        ...askWords('value', 'The right slot, as A:3?', null),
        check: (answer) =>
          slotMeant(answer, season) === null ? `${answer} is no slot; write it as A:3.` : null,
      };
    case 'kind':
      return askKind('value', 'Which is right?', null);
    default:
      return askWords('value', 'What is right? Enter: none', '');
  }
}

function changes(answers: Answers, known: Known) {
  const field = answers.get('field') as NonNullable<Change['field']>;
  const value = answers.get('value')!;
  const { fact } = entryAnswered(answers, known);
  if (field === 'at')
    return { at: formatInstant(instantAt(clockTime(value), zoneOfAnswered(answers, known), fact.at)) };
  if (field === 'withinMs') return { withinMs: Number(value) === 0 ? null : Number(value) * 60_000 };
  if (field === 'slot') return { ...slotMeant(value, known.season)! };
  return { [field]: value === '' ? null : value };
}

/** When a cup counts as what, in a few words. */
const WHEN: Readonly<Record<Ruling, string>> = {
  valid: 'it counts',
  spoiled: 'it was mishandled',
  short: 'turned too soon',
  long: 'turned too late',
  cold: 'too cold for too long',
  hot: 'too hot for too long',
  unproven: 'nobody can say',
};

export const OVERRULE: Form = {
  name: 'overrule',
  title: 'Set a ruling aside, with a reason; the one by rule stays on record',
  isTimed: false,
  ask: (answers, known) =>
    firstOpen(
      answers,
      ['cup', () => askAny(known, (cup) => !isExposed(cup), 'No cup is turned or spoiled yet.')],
      [
        'ruling',
        () =>
          askChoice(
            'ruling',
            'It counts as',
            RULINGS.map((ruling) => ({ value: ruling, text: `${ruling}: ${WHEN[ruling]}` })),
            null,
          ),
      ],
      ['why', () => askWords('why', 'Why does the ruling by rule not hold?', null)],
    ),
  summary: (answers) => `Count ${cupAnswered(answers)} as ${answers.get('ruling')}`,
  facts: (answers, { season }, entering) =>
    overruleCup(
      season,
      cupAnswered(answers),
      rulingNamed(answers.get('ruling')!),
      answers.get('why')!,
      entering,
    ),
  zone: zoneOfAnswered,
};
