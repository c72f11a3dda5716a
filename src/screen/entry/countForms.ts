import { BEE_METHODS, DEAD_BEES } from '../../store/cupFacts.js';
import type { CupLabel } from '../../units/ids.js';
import { Refusal } from '../../units/refusal.js';
import { countCup, type Reading } from '../../visit/actions.js';
import { CAUTIONS } from '../../visit/cautions.js';
import type { Counts, Cup } from '../../visit/cup.js';
import {
  askChoice,
  askCup,
  askNumber,
  askWords,
  cupAnswered,
  cupOf,
  firstOpen,
  zoneOfAnswered,
} from './asking.js';
import type { Answers, Form, Known, Question } from './form.js';

/**
 * Counting, as forms. Whoever counts is blind: no question, choice or summary shows a ruling, a temperature or what
 * another count of the cup was.
 */

type Count = 'tray' | 'wash' | 'bees';

const NOTHING: Reading = { tray: null, wash: null, bees: null };

const before = (cup: Cup, field: Count): number | null =>
  field === 'wash' ? (cup.washes[0] ?? null) : cup.counts[field];

/** Whether the cup that was answered, if any, has this count already. */
const isCounted = (answers: Answers, known: Known, field: Count): boolean =>
  answers.has('cup') && before(cupOf(answers, known), field) !== null;

/** Turned cups, those that wait for this count first, in the order they were turned. */
function countable({ season }: Known, field: Count): Cup[] {
  const turned = [...season.cups.values()].filter(({ turn }) => turn !== null);
  const waits = (cup: Cup) => (before(cup, field) === null ? 0 : 1);
  return turned
    .filter((cup) => waits(cup) === 0 && cup.spoiled?.replacedBy == null)
    .sort((a, b) => a.turn! - b.turn!);
}

/** Any turned cup: one that was counted can be counted again, with a reason. */
function askCounted(field: Count, known: Known): Question {
  const question = askCup(
    'Which cup?',
    countable(known, field),
    known,
    'No turned cup waits for this count; type a label to correct one.',
  );
  return {
    ...question,
    check: (answer) => {
      const cup = known.season.cups.get(answer as CupLabel);
      if (!cup) return `There is no cup ${answer}.`;
      return cup.turn === null ? `Cup ${answer} has not been turned yet; turn it before counting.` : null;
    },
  };
}

/** Mites against bees, as soon as they are typed. */
function fits(cup: Cup, field: Count, count: number): string | null {
  const { tray, wash, bees }: Counts = { ...cup.counts, [field]: count };
  return bees !== null && (tray ?? 0) + (wash ?? 0) > bees
    ? `Cup ${cup.cup} would have more mites than bees; check the number.`
    : null;
}

/** It was not counted yet when it was asked for; the question for the reason comes next. */
function refuseWithoutWhy(answers: Answers): void {
  if (!answers.has('why'))
    throw new Refusal(
      `Cup ${cupAnswered(answers)} was counted meanwhile by somebody else; nothing was recorded.`,
    );
}

const askWhyAgain = (what: string): [key: string, ask: () => Question] => [
  'why',
  () => askWords('why', `${what} Why does it change?`, null, ['counted again', 'typed wrongly']),
];

function counting(field: 'tray' | 'wash', name: string, title: string, prompt: string): Form {
  return {
    name,
    title,
    isTimed: false,
    ask: (answers, known) =>
      firstOpen(
        answers,
        ['cup', () => askCounted(field, known)],
        field === 'wash' && isCounted(answers, known, field)
          ? [
              'which',
              () =>
                askChoice(
                  'which',
                  'This cup was washed before. What is this?',
                  [
                    { value: 'further', text: 'one more wash of the same bees' },
                    { value: 'first', text: 'the first wash, to be corrected' },
                  ],
                  null,
                ),
            ]
          : null,
        [
          'count',
          () => ({
            ...askNumber('count', `${prompt} of ${cupAnswered(answers)}?`, (count) =>
              fits(
                cupOf(answers, known),
                field,
                answers.get('which') === 'further'
                  ? count + (cupOf(answers, known).counts[field] ?? 0)
                  : count,
              ),
            ),
            caution: field === 'wash' ? CAUTIONS.wash : undefined,
          }),
        ],
        isCounted(answers, known, field) && answers.get('which') !== 'further'
          ? askWhyAgain('It was counted before.')
          : null,
      ),
    summary: (answers) => {
      const count = Number(answers.get('count'));
      const wash = answers.get('which') === 'further' ? 'one more wash' : 'the wash';
      return `${cupAnswered(answers)}: ${count} mite${count === 1 ? '' : 's'} ${field === 'tray' ? 'on the tray' : `in ${wash}`}`;
    },
    facts: (answers, known, entering) => {
      if (answers.get('which') !== 'further' && isCounted(answers, known, field)) refuseWithoutWhy(answers);
      const count = Number(answers.get('count'));
      const reading: Reading =
        answers.get('which') === 'further'
          ? { ...NOTHING, washAgain: count }
          : { ...NOTHING, [field]: count };
      return countCup(known.season, cupAnswered(answers), reading, answers.get('why') ?? null, entering);
    },
    zone: zoneOfAnswered,
  };
}

export const TRAY: Form = counting('tray', 'tray', 'Count the mites on a tray', 'Mites on the tray');
export const WASH: Form = counting('wash', 'wash', 'Count the mites of a wash', 'Mites in the wash');

const BEES_WORDS: Readonly<Record<(typeof BEE_METHODS)[number], string>> = {
  counted: 'counted one by one',
  weighed: 'weighed',
  estimated: 'estimated',
};
const DEAD_WORDS: Readonly<Record<(typeof DEAD_BEES)[number], string>> = {
  none: 'no dead bees',
  some: 'some dead',
  most: 'most dead',
};

export const BEES: Form = {
  name: 'bees',
  title: 'Bees of a cup: counted, weighed or estimated',
  isTimed: false,
  ask: (answers, known) => {
    const how = answers.get('how');
    return firstOpen(
      answers,
      ['cup', () => askCounted('bees', known)],
      [
        'count',
        () =>
          askNumber('count', `Bees in ${cupAnswered(answers)}?`, (count) =>
            fits(cupOf(answers, known), 'bees', count),
          ),
      ],
      [
        'how',
        () =>
          askChoice(
            'how',
            'How do you know? Enter: counted',
            BEE_METHODS.map((value) => ({ value, text: BEES_WORDS[value] })),
            'counted',
          ),
      ],
      how === undefined || how === 'counted'
        ? null
        : [
            'cv',
            () => ({
              ...askWords(
                'cv',
                'How sure, in percent (coefficient of variation)? A half cup by volume: about 10',
                null,
              ),
              check: (answer) =>
                /^\d{1,3}(\.\d)?$/.test(answer) && Number(answer) > 0 && Number(answer) <= 100
                  ? null
                  : 'Write a percentage above 0 and up to 100, as 10.',
            }),
          ],
      [
        'dead',
        () =>
          askChoice(
            'dead',
            'Dead bees? Enter: not looked',
            DEAD_BEES.map((value) => ({ value, text: DEAD_WORDS[value] })),
            '',
          ),
      ],
      isCounted(answers, known, 'bees') ? askWhyAgain('Their number was entered before.') : null,
    );
  },
  summary: (answers) =>
    `${cupAnswered(answers)}: ${Number(answers.get('count'))} bees, ${answers.get('how')}${answers.get('cv') ? ` to ${answers.get('cv')} %` : ''}${answers.get('dead') ? `, ${DEAD_WORDS[answers.get('dead') as keyof typeof DEAD_WORDS]}` : ''}`,
  facts: (answers, known, entering) => {
    if (isCounted(answers, known, 'bees')) refuseWithoutWhy(answers);
    const how = answers.get('how') as (typeof BEE_METHODS)[number];
    const dead = answers.get('dead') as (typeof DEAD_BEES)[number] | '' | undefined;
    const cv = answers.get('cv');
    const reading: Reading = {
      ...NOTHING,
      bees: Number(answers.get('count')),
      ...(how === 'counted' ? {} : { beesHow: how }),
      ...(cv === undefined ? {} : { beesCv: Number(cv) / 100 }),
      ...(dead ? { dead } : {}),
    };
    return countCup(known.season, cupAnswered(answers), reading, answers.get('why') ?? null, entering);
  },
  zone: zoneOfAnswered,
};
