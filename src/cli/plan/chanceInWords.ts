import { percent } from '../../../shared/index.js';
import type { RuleSet } from '../../exposure/ruleSet.js';
import type { ExpectedMites } from '../../plan/assumed.js';
import { CUPS_MAX } from '../../plan/assumed.js';
import { type ChanceQuestion, type ChancesOf, RUNS_FOR_CUPS } from '../../plan/chance.js';
import { cupsInWords } from '../cupsInWords.js';
import { wrapped } from '../wrapped.js';

/** Infestations side by side on 80 columns. */
const BESIDE_MAX = 3;
const FIRST_WIDTH = 8;
const CELL_WIDTH = 7;
const BLOCK_WIDTH = 3 * CELL_WIDTH + 2;

/** A chance in whole percent; what need not be 0 or 1 is not told as either. */
export function chanceInWords(chance: number): string {
  if (chance < 0.005) return '<1 %';
  if (chance > 0.995) return '>99 %';
  return `${Math.round(chance * 100)} %`;
}

/** A number with one decimal; a small one with two figures, so that it does not become 0. */
const short = (value: number): string => String(Number(value < 1 ? value.toPrecision(2) : value.toFixed(1)));

export function expectedInWords(expected: ExpectedMites): string {
  if (expected.kind === 'same') return `${expected.mites} ${mite(expected.mites)} in each cup`;
  return `${short(expected.per100)} ${mite(expected.per100)} on 100 bees`;
}

const mite = (count: number): string => (count === 1 ? 'mite' : 'mites');

/** All of it for people, at most 80 columns wide. */
export function chancesInWords(all: readonly ChancesOf[], question: ChanceQuestion, rules: RuleSet): string {
  const line = percent(question.assumed.bar.line);
  const groups = Array.from({ length: Math.ceil(all.length / BESIDE_MAX) }, (_, index) =>
    all.slice(index * BESIDE_MAX, (index + 1) * BESIDE_MAX),
  );
  return [
    `Chance of each answer about the ${line} line, ${cupsInWords(question.assumed.cups)} with a strip in a yard`,
    ...groups.flatMap((group) => ['', ...chanceTable(group)]),
    '',
    `Cups with a strip for a chance of ${percent(question.want)} of the right answer, by true efficacy`,
    '',
    ...cupsTables(all),
    '',
    ...all.map((each) => wrapped(clearInWords(each, question))),
    '',
    'Assumed:',
    ...assumedInWords(all, question, rules).map((text) => wrapped(`  ${text}`)),
  ].join('\n');
}

function chanceTable(group: readonly ChancesOf[]): string[] {
  const heads = ['below', 'open', 'above'].map((word) => word.padStart(CELL_WIDTH)).join('');
  const rows = group[0]!.at.map(({ efficacy }, row) =>
    [
      percent(efficacy).padEnd(FIRST_WIDTH),
      ...group.map(({ at }) => {
        const { belowLine, undecided, tooFew, aboveLine } = at[row]!;
        const cells = [belowLine, undecided + tooFew, aboveLine].map(chanceInWords);
        return `${cells.map((cell) => cell.padStart(CELL_WIDTH)).join('')}  `;
      }),
    ]
      .join('')
      .trimEnd(),
  );
  const title = (text: string) => text.padStart(BLOCK_WIDTH - 2).padEnd(BLOCK_WIDTH);
  return [
    `true    ${group.map(({ expected }) => title(expectedInWords(expected))).join('')}`.trimEnd(),
    `efficacy${group.map(() => `${heads}  `).join('')}`.trimEnd(),
    ...rows,
    `too few${group.map(({ at }) => ` ${chanceInWords(at[0]!.tooFew).padStart(2 * CELL_WIDTH)}${' '.repeat(CELL_WIDTH + 1)}`).join('')}`.trimEnd(),
  ];
}

/** A row an infestation, the efficacies across, as many as fit. */
function cupsTables(all: readonly ChancesOf[]): string[] {
  const efficacies = all[0]!.at.map(({ efficacy }) => efficacy);
  const names = all.map(({ expected }) => expectedInWords(expected));
  const first = Math.max(...names.map(({ length }) => length));
  const cell = 6;
  const across = Math.max(1, Math.floor((79 - first) / cell));
  const lines: string[] = [];
  for (let from = 0; from < efficacies.length; from += across) {
    const part = efficacies.slice(from, from + across);
    if (from > 0) lines.push('');
    lines.push(' '.repeat(first) + part.map((each) => percent(each).padStart(cell)).join(''));
    for (const [index, { at }] of all.entries())
      lines.push(
        names[index]!.padEnd(first) +
          at
            .slice(from, from + across)
            .map(({ cupsNeeded }) =>
              (cupsNeeded === null ? `>${CUPS_MAX}` : String(cupsNeeded)).padStart(cell),
            )
            .join(''),
      );
  }
  return lines;
}

/** What such a yard can tell, in a sentence. */
export function clearInWords({ expected, mitesPerCup, clear }: ChancesOf, question: ChanceQuestion): string {
  const { assumed, want, efficacies } = question;
  const line = percent(assumed.bar.line);
  const often = `${percent(want)} of the time`;
  const mean = expected.kind === 'same' ? '' : ` (${short(mitesPerCup)} in a cup)`;
  const subject = `${cupsInWords(assumed.cups)} at ${expectedInWords(expected)}${mean} ${assumed.cups === 1 ? 'decides' : 'decide'}`;
  const { upTo, from } = clear;
  const least = Math.max(2, assumed.bar.minCups);
  if (assumed.cups < least)
    return `${subject} nothing: an answer takes ${cupsInWords(least)} with mites at least.`;
  if (upTo === null && from === null)
    return `${subject} nothing reliably: ${
      efficacies.length === 1
        ? `a true efficacy of ${percent(efficacies[0]!)} is put on its side of the ${line} line less often than`
        : `no true efficacy ${spanInWords(efficacies)} is put on its side of the ${line} line`
    } ${often}.`;
  const low = efficacies.filter((each) => each < assumed.bar.line);
  const high = efficacies.filter((each) => each >= assumed.bar.line);
  const none = (part: readonly number[], side: string) =>
    part.length === 0
      ? ''
      : part.length === 1
        ? ` One of ${percent(part[0]!)} is put ${side} it less often.`
        : ` None ${spanInWords(part)} is put ${side} it so often.`;
  const below = `a true efficacy of ${percent(upTo ?? 0)} or less is put below the ${line} line`;
  const [cases, other] =
    upTo === null
      ? [`a true efficacy of ${percent(from!)} or more is put above the ${line} line`, none(low, 'below')]
      : from === null
        ? [below, none(high, 'above')]
        : [`${below}, one of ${percent(from)} or more above it`, ''];
  return `${subject} only clear cases: ${cases}, at least ${often}.${other} Otherwise the answer stays open more often.`;
}

const spanInWords = (part: readonly number[]): string =>
  `from ${percent(part[0]!)} to ${percent(part.at(-1)!)}`;

function assumedInWords(all: readonly ChancesOf[], question: ChanceQuestion, rules: RuleSet): string[] {
  const { assumed, runs, seed } = question;
  const { bar, level, cupsAColony, lost, rho } = assumed;
  const uneven = all.find(({ expected }) => expected.kind === 'uneven')?.expected;
  const drawn = all.find(({ error }) => error !== null);
  const each =
    cupsAColony === 1 ? 'each cup from a colony of its own' : `${cupsAColony} cups from each colony`;
  return [
    `${each}; colonies are clusters, as in the result`,
    `${percent(lost)} of the cups are lost (cold, hot, spilled, not read), each by itself (judgement)`,
    `two mites of a colony are alike with rho ${rho} (real yards: 0.015 and 0.199; judgement)`,
    ...(uneven?.kind === 'uneven'
      ? [
          `${uneven.bees} bees in a cup; mites uneven between colonies, negative binomial of size ${uneven.size} (judgement)`,
        ]
      : []),
    `rule set ${rules.name} ${rules.version}: ${percent(level)} interval, at least ${cupsInWords(bar.minCups)} with mites and ${bar.minMites} mites; one look`,
    drawn === undefined
      ? 'chances are exact'
      : `chances from ${runs} drawn yards (seed ${seed}): right within ${(drawn.error! * 100).toFixed(1)} points, 19 times in 20${all.some(({ error }) => error === null) ? '; those at equal mites are exact' : ''}`,
    `numbers of cups from ${RUNS_FOR_CUPS} drawn yards, before any is lost: about right`,
    '"open" is undecided, or too few cups or mites for any answer; the last row tells how often too few',
    'natural fall and mites that the wash misses are not in it: both push answers above the line',
  ];
}
