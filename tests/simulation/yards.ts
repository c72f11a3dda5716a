import { pairedDifference } from '../../shared/arms.js';
import {
  clusteredEfficacy,
  type Interval,
  levelOfLook,
  type Share,
  sideOf,
  wilsonCounts,
} from '../../shared/index.js';
import { seededChance } from '../../src/units/clock.js';
import { drawCup, drawMites } from '../shared/drawn.js';

/** Invented yards whose true efficacy is known, and how often the core is right about them. */

/** All mites of a yard's cups: as many in each, or as real cups have them. */
export type MitesInCups = 'eight' | 'varying';

const LEVEL = 0.95;
const MITES_MEAN = 8;
/** Negative binomial; real cups of four yards had a mean of 9.4 and up to 32 mites. */
const MITES_SIZE = 1.5;

interface Yard {
  readonly efficacy: number;
  readonly rho: number;
  readonly mites: MitesInCups;
}

type Uniform = () => number;

function drawCups(uniform: Uniform, count: number, { efficacy, rho, mites }: Yard): Share[] {
  return Array.from({ length: count }, () =>
    drawCup(
      uniform,
      mites === 'eight' ? MITES_MEAN : drawMites(uniform, MITES_MEAN, MITES_SIZE),
      efficacy,
      rho,
    ),
  );
}

/** The interval the core gives, and the one that takes every mite as independent. */
const clustered = (cups: readonly Share[], level: number): Interval | null =>
  clusteredEfficacy(cups, level).interval;
function naive(cups: readonly Share[], level: number): Interval | null {
  const { tray, mites } = clusteredEfficacy(cups, level);
  return mites === 0 ? null : wilsonCounts(tray, mites, level);
}

const holds = (interval: Interval | null, truth: number): boolean =>
  interval === null || (interval[0] <= truth && truth <= interval[1]);

/** How often each interval from `cups` cups holds the true efficacy. */
export function coverage(
  yard: Yard & { readonly cups: number; readonly runs: number; readonly seed: number },
): { readonly clustered: number; readonly naive: number } {
  const { uniform } = seededChance(yard.seed);
  let [ofClustered, ofNaive] = [0, 0];
  for (let run = 0; run < yard.runs; run += 1) {
    const cups = drawCups(uniform, yard.cups, yard);
    if (holds(clustered(cups, LEVEL), yard.efficacy)) ofClustered += 1;
    if (holds(naive(cups, LEVEL), yard.efficacy)) ofNaive += 1;
  }
  return { clustered: ofClustered / yard.runs, naive: ofNaive / yard.runs };
}

/** What share of the 5 % each look gets. */
export const SHARINGS = {
  /** Every look at the full level. */
  none: (): number => LEVEL,
  /** The number of looks known from the first on. */
  planned: (_look: number, looks: number): number => levelOfLook(LEVEL, looks),
  /** Each look told only how many there have been so far. */
  'so far': (look: number): number => levelOfLook(LEVEL, look),
} as const;
export type Sharing = keyof typeof SHARINGS;

/**
 * How often a yard that lies exactly on the line is put on either side of it by one of `looks` looks: the first
 * at ten cups, each further one after five more, until one decides.
 */
export function falseDecisions(setting: {
  readonly looks: number;
  readonly rho: number;
  readonly sharing: Sharing;
  readonly limits: 'clustered' | 'naive';
  readonly runs: number;
  readonly seed: number;
}): number {
  const { uniform } = seededChance(setting.seed);
  const yard = { efficacy: LINE, rho: setting.rho, mites: 'varying' } as const;
  const limits = setting.limits === 'clustered' ? clustered : naive;
  let wrong = 0;
  for (let run = 0; run < setting.runs; run += 1) {
    const cups = drawCups(uniform, CUPS_FIRST + CUPS_FURTHER * (setting.looks - 1), yard);
    const decides = (look: number): boolean => {
      const seen = cups.slice(0, CUPS_FIRST + CUPS_FURTHER * (look - 1));
      const interval = limits(seen, SHARINGS[setting.sharing](look, setting.looks));
      return interval !== null && sideOf(interval, LINE) !== 'undecided';
    };
    if (Array.from({ length: setting.looks }, (_, i) => i + 1).some(decides)) wrong += 1;
  }
  return wrong / setting.runs;
}

const LINE = 0.7;
const CUPS_FIRST = 10;
const CUPS_FURTHER = 5;

/** How often the paired interval holds the true difference of two arms in `colonies` colonies. */
export function pairedCoverage(setting: {
  readonly efficacies: readonly [number, number];
  readonly rho: number;
  readonly colonies: number;
  readonly runs: number;
  readonly seed: number;
}): number {
  const { uniform } = seededChance(setting.seed);
  const [first, second] = setting.efficacies;
  let held = 0;
  for (let run = 0; run < setting.runs; run += 1) {
    const arm = (efficacy: number): Share[] =>
      drawCups(uniform, setting.colonies, { efficacy, rho: setting.rho, mites: 'varying' });
    const arms = [arm(first), arm(second)] as const;
    const both = arms[0].map((_, i) => i).filter((i) => arms.every((cups) => cups[i]!.whole > 0));
    const result = pairedDifference(
      both.map((i) => arms[0][i]!),
      both.map((i) => arms[1][i]!),
      LEVEL,
    );
    if (holds(result?.interval ?? null, first - second)) held += 1;
  }
  return held / setting.runs;
}
