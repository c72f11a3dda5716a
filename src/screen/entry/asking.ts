import { SLOT_MAX } from '../../store/factFields.js';
import { type CupLabel, LABEL_RULE, parseCarrierId, parseCupLabel } from '../../units/ids.js';
import { durationMs, later, MS_PER_MINUTE } from '../../units/time.js';
import type { SlotName } from '../../visit/actions.js';
import { type Cup, placeNow, slotText } from '../../visit/cup.js';
import type { Season } from '../../visit/season.js';
import { probeIn } from '../../visit/slots.js';
import { dayTimeText, timeText } from '../view.js';
import type { Answers, Choice, Known, Question } from './form.js';

/** Questions that several forms ask. */

/** The first question that is not answered yet, null when all are; one that is null is not asked in this case. */
export const firstOpen = (
  answers: Answers,
  ...questions: readonly (readonly [key: string, ask: () => Question] | null)[]
): Question | null => questions.find((each) => each !== null && !answers.has(each[0]))?.[1]() ?? null;

const fine = () => null;

/**
 * A cup among those that will do, offered with what tells them apart; never with a ruling.
 *
 * @param order said of the order in which several are offered
 */
export function askCup(
  prompt: string,
  cups: readonly Cup[],
  known: Known,
  none: string,
  order?: string,
): Question {
  const only = cups.length === 1 ? cups[0]!.cup : null;
  const asked = only === null ? [prompt, order ?? ''].join(' ').trimEnd() : `${prompt} Enter: ${only}`;
  const choices = cups.map((cup): Choice => ({ value: cup.cup, text: cupText(cup, known) }));
  return {
    key: 'cup',
    prompt: cups.length === 0 ? none : asked,
    otherwise: only,
    choices,
    check: (answer) => {
      if (choices.some(({ value }) => value === answer)) return null;
      const cup = known.season.cups.get(answer as CupLabel);
      if (cup?.turn != null && cup.spoiled === null)
        return `Cup ${answer} was turned at ${dayTimeText(cup.turn, zoneIn(cup, known), known.now)} already.`;
      if (cups.length === 0) return none;
      if (!cup) return `There is no cup ${answer}.`;
      return `Cup ${answer} will not do here: it is ${stateText(cup)}.`;
    },
  };
}

/** A cup in a few words: place, colony, when it is due. */
function cupText(cup: Cup, { season }: Known): string {
  const visit = season.visits.get(cup.visit)!;
  const due = later(cup.load, durationMs(visit.rules.exposureMinutes * MS_PER_MINUTE));
  const parts = [
    cup.cup,
    placeText(cup),
    cup.colony === null ? '' : `colony ${cup.colony}`,
    cup.turn === null ? `due ${timeText(due, visit.zone)}` : `turned ${timeText(cup.turn, visit.zone)}`,
  ];
  return parts.filter((part) => part !== '').join('  ');
}

const placeText = (cup: Cup): string => {
  const place = placeNow(cup);
  return place === null ? '' : slotText(place);
};

function stateText(cup: Cup): string {
  if (cup.spoiled !== null) return 'spoiled';
  return placeNow(cup) === null ? 'in no slot' : `in ${placeText(cup)}`;
}

/**
 * A label that no cup has had.
 *
 * @param planned the label that is next by the plan; left out, the one after that loaded last
 */
export const askNewLabel = (
  key: string,
  prompt: string,
  { season, plan }: Known,
  planned: CupLabel | null = null,
): Question => {
  const next = planned ?? nextLabel(season, new Set(plan.map(({ cup }) => cup)));
  return {
    key,
    prompt: next === null ? prompt : `${prompt} Enter: ${next}`,
    otherwise: next,
    choices: [],
    check: (answer) => {
      if (parseCupLabel(answer) === null) return `${answer} is no cup label; use ${LABEL_RULE}.`;
      if (/^\d{1,2}$/.test(answer))
        return `${answer} would be taken for a line of a list here; take a longer label, as C-${answer}.`;
      return season.cups.has(answer as CupLabel)
        ? `Cup ${answer} exists already; a label is used once for ever.`
        : null;
    },
  };
};

/** The label after the one that was loaded last, when that ends in a number; none that is planned for a cup, so that it is a spare one. */
export function nextLabel(season: Season, planned: ReadonlySet<CupLabel> = new Set()): string | null {
  const last = [...season.cups.keys()].at(-1);
  const [, stem, number] = /^(.*?)(\d+)$/.exec(last ?? '') ?? [];
  if (stem === undefined || number === undefined) return null;
  for (let next = Number(number) + 1; next < Number(number) + 1000; next += 1) {
    const label = `${stem}${String(next).padStart(number.length, '0')}`;
    if (!season.cups.has(label as CupLabel) && !planned.has(label as CupLabel)) return parseCupLabel(label);
  }
  return null;
}

/**
 * A slot, as its number when there is one carrier, as 2.3 for slot 3 of the second carrier, or as B:3.
 *
 * @param none what Enter alone means when no slot is wanted; null when one is needed
 */
export function askSlot(known: Known, none: string | null): Question {
  const { season, now } = known;
  const carriers = [...season.carriers.keys()].sort();
  const free = freeSlots(season, known);
  const suggestion = none === null ? (free[0] ?? null) : null;
  const numbered =
    carriers.length > 1 ? ` (${carriers.map((id, index) => `${index + 1}.3 is ${id}:3`).join(', ')})` : '';
  const alone = none ?? suggestion;
  const end = alone === null ? '' : '.';
  const freeOnes = free.length === 0 ? '' : ` Free: ${free.slice(0, 6).join(' ')}${end}`;
  return {
    key: 'slot',
    prompt: `Which slot?${numbered}${freeOnes}${alone === null ? '' : ` Enter: ${none === null ? suggestion : 'none yet'}`}`,
    otherwise: none === null ? suggestion : '',
    choices: [],
    check: (answer) => {
      if (answer === '') return none === null ? 'A slot is needed.' : null;
      const slot = slotMeant(answer, season);
      if (slot === null)
        return carriers.length === 0
          ? 'No carrier is known yet; write it as A:3.'
          : `${answer} is no slot; write ${carriers.length === 1 ? '3' : '1.3'}, or ${carriers[0]}:3.`;
      const there = [...season.cups.values()].find((cup) => {
        const place = placeNow(cup);
        return place !== null && place.carrier === slot.carrier && place.slot === slot.slot;
      });
      if (there) return `Slot ${slotText(slot)} holds cup ${there.cup}.`;
      return carriers.includes(slot.carrier) || probeIn(season.carriers.get(slot.carrier), slot.slot, now)
        ? null
        : `There is no carrier ${slot.carrier}; there ${carriers.length === 1 ? 'is' : 'are'} ${carriers.join(', ')}.`;
    },
  };
}

/** The slot that was typed; null when it is none. */
export function slotMeant(text: string, season: Season): SlotName | null {
  const carriers = [...season.carriers.keys()].sort();
  const [, first, second] = /^(?:(.+)[.:])?(\d{1,2})$/.exec(text) ?? [];
  const slot = Number(second);
  if (second === undefined || slot < 1 || slot > SLOT_MAX) return null;
  if (first === undefined) return carriers.length === 1 ? { carrier: carriers[0]!, slot } : null;
  const named = carriers.find((id) => id.toLowerCase() === first.toLowerCase());
  const carrier = named ?? (/^\d$/.test(first) ? carriers[Number(first) - 1] : parseCarrierId(first));
  return carrier ? { carrier, slot } : null;
}

/** The answer that no slot is wanted yet, where Enter alone means one. */
const NO_SLOT = '0';

/** The same, where one is planned; Enter takes that one. Asked as ever when it is not free. */
export function askPlannedSlot(known: Known, planned: SlotName | null, none: string | null): Question {
  const question = askSlot(known, none);
  if (planned === null || !freeSlots(known.season, known).includes(slotText(planned))) return question;
  return {
    ...question,
    prompt: `Which slot? Enter: ${slotText(planned)}, as planned${none === null ? '' : `; ${NO_SLOT} not seated yet`}`,
    otherwise: slotText(planned),
    check: (answer) => (answer === NO_SLOT && none !== null ? null : question.check(answer)),
  };
}

/** Slots with a probe and without a cup. */
export function freeSlots(season: Season, { now }: Pick<Known, 'now'>): string[] {
  const taken = new Set(
    [...season.cups.values()].flatMap((cup) => (placeNow(cup) === null ? [] : [placeText(cup)])),
  );
  return [...season.carriers.values()]
    .sort((a, b) => (a.carrier < b.carrier ? -1 : 1))
    .flatMap((carrier) =>
      [...carrier.slots.keys()]
        .sort((a, b) => a - b)
        .filter((slot) => probeIn(carrier, slot, now) !== null)
        .map((slot) => slotText({ carrier: carrier.carrier, slot })),
    )
    .filter((slot) => !taken.has(slot));
}

/** Words; Enter alone answers `otherwise`, or nothing will do. */
export const askWords = (
  key: string,
  prompt: string,
  otherwise: string | null,
  choices: readonly string[] = [],
): Question => ({
  key,
  prompt,
  otherwise,
  isInWords: true,
  choices: choices.map((text) => ({ value: text, text })),
  check: (answer) =>
    answer === '' && otherwise === null
      ? 'Say it in a few words.'
      : answer.length > 120
        ? 'That is longer than 120 letters.'
        : null,
});

/** One of several values. */
export const askChoice = (
  key: string,
  prompt: string,
  choices: readonly Choice[],
  otherwise: string | null,
): Question => ({
  key,
  prompt,
  otherwise,
  choices,
  check: (answer) =>
    answer === otherwise || choices.some(({ value }) => value === answer)
      ? null
      : `${answer} is none of the numbers above.`,
});

/** Whether a cup has a strip. */
export const askKind = (key: string, prompt: string, otherwise: 'strip' | 'no-strip' | null): Question =>
  askChoice(
    key,
    prompt,
    [
      { value: 'strip', text: 'with a strip' },
      { value: 'no-strip', text: 'without a strip' },
    ],
    otherwise,
  );

/** A whole number; `further` may object to it. */
export const askNumber = (
  key: string,
  prompt: string,
  further: (count: number) => string | null = fine,
): Question => ({
  key,
  prompt,
  otherwise: null,
  choices: [],
  check: (answer) =>
    /^\d{1,4}$/.test(answer)
      ? further(Number(answer))
      : `${answer} is no count; write a whole number from 0 to 9999.`,
});

/** The cup that was answered. */
export const cupAnswered = (answers: Answers): CupLabel => answers.get('cup') as CupLabel;

/** That cup, which must be there. */
export const cupOf = (answers: Answers, { season }: Pick<Known, 'season'>): Cup =>
  season.cups.get(cupAnswered(answers))!;

/** The zone of a cup's visit. */
const zoneIn = (cup: Cup, { season }: Pick<Known, 'season'>): string =>
  season.visits.get(cup.visit)?.zone ?? 'UTC';

/** The same for the cup that was answered. */
export function zoneOfAnswered(answers: Answers, known: Pick<Known, 'season'>): string {
  const cup = known.season.cups.get(cupAnswered(answers));
  return cup ? zoneIn(cup, known) : 'UTC';
}
