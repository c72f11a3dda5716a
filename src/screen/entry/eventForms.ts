import { cupOfPlan, nextCupOfPlan } from '../../plan/fromPlan.js';
import type { ReadyCup } from '../../plan/planned.js';
import type { CupLabel } from '../../units/ids.js';
import { between, inMinutes } from '../../units/time.js';
import { liftCup, loadCup, moveCup, replaceCup, seatCup, turnCup } from '../../visit/actions.js';
import { type Cup, isExposed, placeNow, slotText } from '../../visit/cup.js';
import { openVisits, type Season, type Visit } from '../../visit/season.js';
import {
  askChoice,
  askCup,
  askKind,
  askNewLabel,
  askPlannedSlot,
  askSlot,
  askWords,
  cupAnswered,
  cupOf,
  firstOpen,
  slotMeant,
  zoneOfAnswered,
} from './asking.js';
import type { Answers, Form, Known, Question } from './form.js';

/** What happens to cups, as forms. */

const cups = ({ season }: Known): Cup[] => [...season.cups.values()];
const riding = (known: Known): Cup[] =>
  cups(known)
    .filter(isExposed)
    .sort((a, b) => a.load - b.load);
const seated = (known: Known): Cup[] =>
  cups(known).filter((cup) => cup.turn === null && placeNow(cup) !== null);

/** The visit that was answered, or the only open one. */
const visitMeant = (answers: Answers, season: Season): Visit | undefined =>
  openVisits(season).find(({ visit }) => visit === (answers.get('visit') ?? openVisits(season)[0]?.visit));

const slotAnswered = (text: string | undefined, season: Season): string => {
  const slot = text === undefined ? null : slotMeant(text, season);
  return slot === null ? '' : slotText(slot);
};

/** What the plan says of the cup that was answered, if it is planned for this visit. */
function planOf(answers: Answers, { season, plan }: Known): ReadyCup | null {
  const cup = cupOfPlan(plan, answers.get('cup'));
  return cup?.visit === visitMeant(answers, season)?.visit ? cup : null;
}

/** That the label that was answered is not one that is planned for this visit: perhaps the wrong one was scanned. */
function strangeText(answers: Answers, known: Known): string | null {
  const visit = visitMeant(answers, known.season)?.visit;
  if (planOf(answers, known) !== null) return null;
  const elsewhere = cupOfPlan(known.plan, answers.get('cup'));
  if (elsewhere !== null) return `planned for visit ${elsewhere.visit} to yard ${elsewhere.yard}`;
  return known.plan.some((cup) => cup.visit === visit)
    ? 'not in the plan: a spare one, or of another day'
    : null;
}

export const LOAD: Form = {
  name: 'load',
  title: 'Load a cup: bees meet the strip',
  isTimed: true,
  ask: (answers, known) => {
    const open = openVisits(known.season);
    return firstOpen(
      answers,
      open.length === 1
        ? null
        : [
            'visit',
            () =>
              open.length === 0
                ? {
                    ...askWords('visit', 'No visit is open: go back with * and open one', null),
                    check: () => 'Open a visit first.',
                  }
                : askChoice(
                    'visit',
                    `For which visit? Enter: ${open.at(-1)!.visit}`,
                    open.map(({ visit, yard }) => ({ value: visit, text: `${visit}  yard ${yard}` })),
                    open.at(-1)!.visit,
                  ),
          ],
      [
        'cup',
        () => {
          const visit = visitMeant(answers, known.season)?.visit;
          const next = nextCupOfPlan(known.plan, visit, known.season);
          return askNewLabel('cup', 'Label of the cup?', known, next?.cup);
        },
      ],
      [
        'kind',
        () => {
          const kind = planOf(answers, known)?.kind ?? 'strip';
          const strange = strangeText(answers, known);
          return {
            ...askKind('kind', `With a strip? Enter: ${kind === 'strip' ? 'yes' : 'no'}`, kind),
            caution:
              strange === null
                ? undefined
                : `${answers.get('cup')} is ${strange}. If the wrong label was taken, go back with *.`,
          };
        },
      ],
      [
        'colony',
        () => {
          const colony = planOf(answers, known)?.colony ?? '';
          return askWords('colony', `From which colony? Enter: ${colony || 'not told'}`, colony);
        },
      ],
      ['slot', () => askPlannedSlot(known, planOf(answers, known), '')],
    );
  },
  summary: (answers, known) => {
    const [colony, slot] = [answers.get('colony'), slotAnswered(answers.get('slot'), known.season)];
    const strange = strangeText(answers, known);
    return `Load ${cupAnswered(answers)}${strange === null ? '' : ` (${strange})`}${answers.get('kind') === 'no-strip' ? ' without a strip' : ''}${colony ? `, colony ${colony}` : ''}${slot === '' ? '' : `, into ${slot}`}`;
  },
  facts: (answers, known, entering) => {
    const { season } = known;
    const cup = cupAnswered(answers);
    const kind = answers.get('kind') === 'no-strip' ? 'no-strip' : 'strip';
    const colony = answers.get('colony') || undefined;
    const slot = slotMeant(answers.get('slot') ?? '', season);
    const planned = planOf(answers, known);
    // The mother line is that of the planned colony.
    const group = planned?.colony === (colony ?? null) ? (planned?.group ?? undefined) : undefined;
    const [active, lot] = [planned?.active ?? undefined, planned?.lot ?? undefined];
    return [
      ...loadCup(visitMeant(answers, season)!, cup, { kind, colony, group, active, lot }, entering),
      ...(slot === null ? [] : seatCup(cup, slot, entering)),
    ];
  },
  zone: (answers, { season }) => visitMeant(answers, season)?.zone ?? 'UTC',
};

/** A cup goes into a slot: which cup, then which slot. */
const intoSlot = (
  words: Pick<Form, 'name' | 'title'>,
  askWhich: (known: Known) => Question,
  summary: (cup: string, slot: string) => string,
  facts: typeof seatCup,
  askWhere = (_answers: Answers, known: Known): Question => askSlot(known, null),
): Form => ({
  ...words,
  isTimed: true,
  ask: (answers, known) =>
    firstOpen(answers, ['cup', () => askWhich(known)], ['slot', () => askWhere(answers, known)]),
  summary: (answers, { season }) => summary(cupAnswered(answers), slotAnswered(answers.get('slot'), season)),
  facts: (answers, { season }, entering) =>
    facts(cupAnswered(answers), slotMeant(answers.get('slot')!, season)!, entering),
  zone: zoneOfAnswered,
});

const askSeated = (known: Known): Question =>
  askCup('Which cup?', seated(known), known, 'No cup is in a slot.');

export const SEAT: Form = intoSlot(
  { name: 'seat', title: 'Seat a cup in a slot' },
  (known) =>
    askCup(
      'Which cup?',
      riding(known).filter((cup) => placeNow(cup) === null),
      known,
      'No cup waits for a slot.',
    ),
  (cup, slot) => `Seat ${cup} in ${slot}`,
  seatCup,
  (answers, known) => askPlannedSlot(known, cupOfPlan(known.plan, cupAnswered(answers)), null),
);

export const MOVE: Form = intoSlot(
  { name: 'move', title: 'Move a cup to another slot' },
  askSeated,
  (cup, slot) => `Move ${cup} to ${slot}`,
  moveCup,
);

export const LIFT: Form = {
  name: 'lift',
  title: 'Lift a cup out of its slot',
  isTimed: true,
  ask: (answers, known) => firstOpen(answers, ['cup', () => askSeated(known)]),
  summary: (answers) => `Lift ${cupAnswered(answers)}`,
  facts: (answers, _known, entering) => liftCup(cupAnswered(answers), entering),
  zone: zoneOfAnswered,
};

export const TURN: Form = {
  name: 'turn',
  title: 'Turn a cup: its exposure ends',
  isTimed: true,
  ask: (answers, known) =>
    firstOpen(answers, [
      'cup',
      () =>
        askCup('Which cup?', riding(known), known, 'No cup waits to be turned.', 'The first is due first'),
    ]),
  summary: (answers, known) => `Turn ${cupAnswered(answers)}${earlyText(answers, known)}`,
  facts: (answers, _known, entering) => turnCup(cupAnswered(answers), entering),
  zone: zoneOfAnswered,
};

/** That a cup is turned before its time, as far as that is known: a slip is seen before it is recorded. */
function earlyText(answers: Answers, { season, now }: Known): string {
  const cup = season.cups.get(cupAnswered(answers));
  if (!cup || answers.has('at')) return '';
  const left = season.visits.get(cup.visit)!.rules.exposureMinutesMin - inMinutes(between(cup.load, now));
  return left <= 0 ? '' : `, ${Math.ceil(left)} min TOO EARLY`;
}

/** Why a cup is replaced, mostly. */
const USUALLY = 'cold when it was seated';

/** Cups that ride: those that an alarm says to replace first, then the last loaded, which is seen to be cold at once. */
function replaceable(known: Known): Cup[] {
  const rank = ({ cup }: Cup): number => {
    const place = known.toReplace.indexOf(cup);
    return place < 0 ? known.toReplace.length : place;
  };
  return riding(known)
    .reverse()
    .sort((a, b) => rank(a) - rank(b));
}

export const REPLACE: Form = {
  name: 'replace',
  title: 'Replace a cup that is lost; it stays on record',
  isTimed: true,
  ask: (answers, known) =>
    firstOpen(
      answers,
      [
        'cup',
        () =>
          askCup(
            'Which cup is replaced?',
            replaceable(known),
            known,
            'No cup rides.',
            known.toReplace.length === 0
              ? 'The last loaded is first'
              : 'First what an alarm says to replace, then the last loaded',
          ),
      ],
      ['why', () => askWords('why', `Why? Enter: ${USUALLY}`, USUALLY, [USUALLY, 'bees got out'])],
      ['fresh', () => askSpareLabel(known)],
      ['slot', () => askSlotOf(answers, known)],
    ),
  summary: (answers, { season }) =>
    `Replace ${cupAnswered(answers)} by ${answers.get('fresh')}${slotAnswered(answers.get('slot'), season) === '' ? '' : `, into ${slotAnswered(answers.get('slot'), season)}`}`,
  facts: (answers, { season }, entering) => {
    const fresh = answers.get('fresh') as CupLabel;
    const slot = slotMeant(answers.get('slot') ?? '', season);
    return [
      ...replaceCup(season, cupAnswered(answers), fresh, answers.get('why')!, entering),
      ...(slot === null ? [] : seatCup(fresh, slot, entering)),
    ];
  },
  zone: zoneOfAnswered,
};

/** A label that is not planned for a cup, which would then be missing. */
function askSpareLabel(known: Known): Question {
  const question = askNewLabel('fresh', 'Label of the cup in its place?', known);
  return {
    ...question,
    check: (answer) =>
      question.check(answer) ??
      (cupOfPlan(known.plan, answer) === null
        ? null
        : `${answer} is planned for another cup; take a spare label, or write one of your own.`),
  };
}

/** The slot of the cup in place of another: that one's own will do, too. */
function askSlotOf(answers: Answers, known: Known): Question {
  const place = placeNow(cupOf(answers, known));
  const question = askSlot(known, '');
  if (place === null) return question;
  const own = slotText(place);
  return {
    ...question,
    prompt: `Into which slot? Enter: ${own}, the same`,
    otherwise: own,
    check: (answer) => {
      const slot = slotMeant(answer, known.season);
      const isOwn = slot?.carrier === place.carrier && slot.slot === place.slot;
      return isOwn ? null : question.check(answer);
    },
  };
}
