import type { Command } from 'commander';
import { DECISION_CHANCE } from '../../../shared/index.js';
import { DEFAULT_RULES, type RuleSet } from '../../exposure/ruleSet.js';
import {
  BEES_DEFAULT,
  CUPS_MAX,
  type ExpectedMites,
  LOST_DEFAULT,
  RHO_DEFAULT,
  SIZE_DEFAULT,
} from '../../plan/assumed.js';
import { type ChanceQuestion, type ChancesOf, chancesFor, RUNS_FOR_CUPS } from '../../plan/chance.js';
import { parseDecimal } from '../../units/number.js';
import { Refusal } from '../../units/refusal.js';
import type { Context } from '../context.js';
import { readRules } from '../judging/judge.js';
import { wholeIn } from '../wholeIn.js';
import { WrongCommandLine } from '../wrongCommandLine.js';
import { chancesInWords, clearInWords } from './chanceInWords.js';

interface ChanceOptions {
  readonly per100?: string;
  readonly mites?: string;
  readonly bees: string;
  readonly cups: string;
  readonly cupsAColony: string;
  readonly efficacy: string;
  readonly lost: string;
  readonly rho: string;
  readonly uneven: string;
  readonly want: string;
  readonly rules?: string;
  readonly runs: string;
  readonly seed: string;
  readonly json?: true;
}

const PER100_DEFAULT = '1,3,5';
const MITES_A_CUP_MAX = 100;
const RUNS_MIN = 100;
const RUNS_MAX = 100_000;
const EFFICACIES_MAX = 40;

/** `plan chance`: what a yard can be expected to tell. */
export function defineChance(plan: Command, context: Context): void {
  plan
    .command('chance')
    .description('how likely a yard is decided, and how many cups that takes')
    .option('--per100 <numbers>', `expected mites on 100 bees, several as 1,3,5 (default: ${PER100_DEFAULT})`)
    .option('--mites <numbers>', 'mites in each cup instead, the same in all, several as 3,9')
    .option('--bees <number>', 'bees in a cup', String(BEES_DEFAULT))
    .option('--cups <number>', 'cups with a strip in the yard', '10')
    .option('--cups-a-colony <number>', 'how many of them come from one colony', '1')
    .option('--efficacy <range>', 'true efficacies: from, to, step', '0.3..0.95/0.05')
    .option('--lost <share>', 'share of cups that will not count (cold, spilled)', String(LOST_DEFAULT))
    .option('--rho <share>', 'how alike two mites of a colony are', String(RHO_DEFAULT))
    .option(
      '--uneven <size>',
      'size of the negative binomial of mites; smaller is more uneven',
      String(SIZE_DEFAULT),
    )
    .option('--want <share>', 'chance of the right answer that is wanted', String(DECISION_CHANCE))
    .option('--rules <file>', 'a rule set; it names what it changes')
    .option('--runs <number>', 'yards drawn for each chance that is not computed exactly', '4000')
    .option('--seed <number>', 'where chance begins; the same seed gives the same figures', '1')
    .option('--json', 'print JSON')
    .action(async (options: ChanceOptions) => {
      const rules = options.rules === undefined ? DEFAULT_RULES : await readRules(options.rules);
      const question = questionOf(options, rules);
      const all = chancesFor(question);
      context.io.out(
        options.json
          ? JSON.stringify(chancesToJson(all, question, rules))
          : chancesInWords(all, question, rules),
      );
    });
}

function questionOf(options: ChanceOptions, rules: RuleSet): ChanceQuestion {
  const { line, minCups, minMites, level } = rules;
  const cups = wholeIn('cups', options.cups, 1, CUPS_MAX);
  return {
    assumed: {
      cups,
      cupsAColony: wholeIn('cups-a-colony', options.cupsAColony, 1, cups),
      lost: shareIn('lost', options.lost, 0),
      rho: shareIn('rho', options.rho, 0),
      bar: { line, minCups, minMites },
      level,
    },
    expected: expectedOf(options),
    efficacies: efficaciesOf(options.efficacy),
    want: shareIn('want', options.want, 0.01),
    runs: wholeIn('runs', options.runs, RUNS_MIN, RUNS_MAX),
    seed: wholeIn('seed', options.seed, 0, 4_294_967_295),
  };
}

function expectedOf({ per100, mites, bees, uneven }: ChanceOptions): ExpectedMites[] {
  if (per100 !== undefined && mites !== undefined)
    throw new WrongCommandLine('--per100 and --mites both say how many mites there are; give one.');
  const each = (text: string): string[] => text.split(',').map((part) => part.trim());
  if (mites !== undefined)
    return each(mites).map((text) => ({
      kind: 'same',
      mites: wholeIn('mites', text, 1, MITES_A_CUP_MAX),
    }));
  const inACup = wholeIn('bees', bees, 1, 5000);
  const size = parseDecimal(uneven);
  if (size === null || size < 0.05 || size > 1000)
    throw new Refusal(
      `--uneven ${uneven} is no size; write a number from 0.05 (very uneven) to 1000 (even).`,
    );
  return each(per100 ?? PER100_DEFAULT).map((text) => {
    const value = parseDecimal(text);
    if (value === null || value <= 0 || (value * inACup) / 100 > MITES_A_CUP_MAX)
      throw new Refusal(
        `--per100 ${text} is no number of mites on 100 bees; write numbers above 0, as 1,3,5, that come to at most ${MITES_A_CUP_MAX} mites a cup.`,
      );
    return { kind: 'uneven', per100: value, bees: inACup, size };
  });
}

const RANGE = /^(\d*\.?\d+)(?:\.\.(\d*\.?\d+)(?:\/(\d*\.?\d+))?)?$/;

/** `0.3..0.95/0.05`; a step of 0.05 when there is none; one number is that alone. */
function efficaciesOf(text: string): number[] {
  const [, first, last, step] = RANGE.exec(text) ?? [];
  const [from, to, by] = [Number(first), Number(last ?? first), Number(step ?? '0.05')];
  const count = by > 0 ? Math.floor((to - from) / by + 1e-9) + 1 : Number.NaN;
  if (first === undefined || !(from > 0 && to < 1 && from <= to && count >= 1 && count <= EFFICACIES_MAX))
    throw new Refusal(
      `--efficacy ${text} is no range; write shares above 0 and below 1 as FROM..TO/STEP, such as 0.3..0.95/0.05, with at most ${EFFICACIES_MAX} of them.`,
    );
  return Array.from({ length: count }, (_, index) => Number((from + index * by).toFixed(6)));
}

/** A share below 1. */
function shareIn(option: string, text: string, least: number): number {
  const value = parseDecimal(text);
  if (value === null || value < least || value >= 1)
    throw new Refusal(
      `--${option} ${text} will not do; write a share from ${least} to below 1, as 0.1 for 10 %.`,
    );
  return value;
}

function chancesToJson(all: readonly ChancesOf[], question: ChanceQuestion, rules: RuleSet) {
  const { assumed, want, runs, seed } = question;
  const { bar, ...others } = assumed;
  return {
    assumed: { ...others, ...bar, want, rules: { name: rules.name, version: rules.version } },
    drawn: { runs, runsForCups: RUNS_FOR_CUPS, seed },
    infestations: all.map((each) => ({
      ...(each.expected.kind === 'same'
        ? { mites: each.expected.mites }
        : { per100: each.expected.per100, bees: each.expected.bees, size: each.expected.size }),
      mitesPerCup: each.mitesPerCup,
      error: each.error,
      efficacies: each.at,
      clear: each.clear,
      sentence: clearInWords(each, question),
    })),
  };
}
