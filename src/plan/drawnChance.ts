import { clusteredEfficacy, decide, type Share, type Verdict } from '../../shared/index.js';
import type { Chance } from '../units/clock.js';
import { type Assumed, CUPS_MAX, type ExpectedMites, mitesPerCup, type VerdictChances } from './assumed.js';
import { drawFallen, drawMites, type Uniform } from './drawnCups.js';

/** The chances of the verdicts by drawing yards and letting the core judge each. */

/** The counting cups of one colony: a cluster of the core. */
interface Colony extends Share {
  readonly cupsWithMites: number;
}

/**
 * Draws a colony. Its cups share its mean, about which the number of mites in each is Poisson, so that all of them together
 * are again negative binomial; and its mites are as alike as those of one cup.
 */
function drawColony(
  uniform: Uniform,
  cups: number,
  { lost, rho }: Assumed,
  expected: ExpectedMites,
  efficacy: number,
): Colony {
  let counting = 0;
  for (let cup = 0; cup < cups; cup += 1) if (uniform() >= lost) counting += 1;
  const whole =
    expected.kind === 'same'
      ? counting * expected.mites
      : drawMites(uniform, counting * mitesPerCup(expected), expected.size);
  const part = drawFallen(uniform, whole, efficacy, rho);
  return { part, whole, cupsWithMites: withMites(uniform, counting, whole, expected.kind === 'same') };
}

/** In how many of the cups at least one of the mites was. */
function withMites(uniform: Uniform, cups: number, mites: number, isSame: boolean): number {
  if (mites === 0) return 0;
  if (isSame || cups === 1) return cups;
  const found = new Set<number>();
  for (let mite = 0; mite < mites; mite += 1) found.add(Math.floor(uniform() * cups));
  return found.size;
}

function judged(colonies: readonly Colony[], { bar, level }: Assumed): Verdict {
  const { interval, mites } = clusteredEfficacy(colonies, level);
  const cupsWithMites = colonies.reduce((sum, colony) => sum + colony.cupsWithMites, 0);
  return decide({ interval, cupsWithMites, mites }, bar);
}

/** How many cups each colony gives; the last one gives what is left. */
const cupsOfColonies = (cups: number, cupsAColony: number): number[] =>
  Array.from({ length: Math.ceil(cups / cupsAColony) }, (_, colony) =>
    Math.min(cupsAColony, cups - colony * cupsAColony),
  );

/** Yards with their colonies in the order in which further ones would be added. */
function drawYards(
  assumed: Assumed,
  cups: number,
  expected: ExpectedMites,
  efficacy: number,
  runs: number,
  { uniform }: Chance,
): Colony[][] {
  const colonies = cupsOfColonies(cups, assumed.cupsAColony);
  return Array.from({ length: runs }, () =>
    colonies.map((each) => drawColony(uniform, each, assumed, expected, efficacy)),
  );
}

/** The chances from `runs` drawn yards; the chance of too little, where it can be computed, is exact. */
export function drawnChances(
  assumed: Assumed,
  expected: ExpectedMites,
  efficacy: number,
  runs: number,
  chance: Chance,
): VerdictChances {
  const found: Record<Verdict, number> = { 'above-line': 0, undecided: 0, 'below-line': 0, 'too-few': 0 };
  for (const colonies of drawYards(assumed, assumed.cups, expected, efficacy, runs, chance))
    found[judged(colonies, assumed)] += 1;
  const enough = runs - found['too-few'];
  const exact = tooFewChance(assumed, expected);
  // What is known exactly takes the place of what was drawn; the rest keeps its proportions.
  const tooFew = exact === null || enough === 0 ? found['too-few'] / runs : exact;
  const share = (count: number): number => (enough === 0 ? 0 : (count / enough) * (1 - tooFew));
  return {
    aboveLine: share(found['above-line']),
    undecided: share(found.undecided),
    belowLine: share(found['below-line']),
    tooFew,
  };
}

/**
 * The chance that a yard has too few cups or mites for any verdict, exactly; it does not depend on the efficacy. Null when
 * colonies give several cups, of which each may hold mites or not.
 */
export function tooFewChance({ cups, cupsAColony, lost, bar }: Assumed, expected: ExpectedMites) {
  if (cupsAColony > 1) return null;
  const one = mitesChances(expected, bar.minMites).map((chance) => chance * (1 - lost));
  one[0] = one[0]! + lost;
  const cupsMin = Math.max(bar.minCups, 2);
  // By cups with mites, up to as many as are asked for, and mites, likewise.
  let now = new Map([[0, 1]]);
  const width = bar.minMites + 1;
  for (let cup = 0; cup < cups; cup += 1) {
    const next = new Map<number, number>();
    for (const [state, chance] of now)
      for (const [mites, more] of one.entries()) {
        const filled = Math.min(cupsMin, Math.floor(state / width) + (mites > 0 ? 1 : 0));
        const all = Math.min(bar.minMites, (state % width) + mites);
        const to = filled * width + all;
        next.set(to, (next.get(to) ?? 0) + chance * more);
      }
    now = next;
  }
  return 1 - (now.get(cupsMin * width + bar.minMites) ?? 0);
}

/** The chances of 0, 1, ... mites in a cup; the last one is of `most` or more. `most` is at least 1. */
function mitesChances(expected: ExpectedMites, least: number): number[] {
  const most = Math.max(1, least);
  const chances = new Array<number>(most + 1).fill(0);
  if (expected.kind === 'same') {
    chances[Math.min(most, expected.mites)] = 1;
    return chances;
  }
  const mean = mitesPerCup(expected);
  const ratio = mean / (mean + expected.size);
  let term = (1 - ratio) ** expected.size;
  let left = 1;
  for (let mites = 0; mites < most; mites += 1) {
    chances[mites] = term;
    left -= term;
    term *= (ratio * (expected.size + mites)) / (mites + 1);
  }
  chances[most] = Math.max(0, left);
  return chances;
}

/**
 * About how many cups give the right verdict with the wanted chance, before any is lost; null beyond `CUPS_MAX`. The yards
 * are drawn once, and fewer cups are the first of them, so that more cups are not worse by luck.
 */
export function cupsNeeded(
  assumed: Assumed,
  expected: ExpectedMites,
  efficacy: number,
  want: number,
  runs: number,
  chance: Chance,
): number | null {
  const { cupsAColony, bar } = assumed;
  const right: Verdict = efficacy < bar.line ? 'below-line' : 'above-line';
  const most = Math.floor(CUPS_MAX / cupsAColony);
  const yards = drawYards(assumed, most * cupsAColony, expected, efficacy, runs, chance);
  const chanceOf = (colonies: number): number =>
    yards.filter((yard) => judged(yard.slice(0, colonies), assumed) === right).length / runs;
  if (chanceOf(most) < want) return null;
  let [low, high] = [0, most];
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (chanceOf(middle) >= want) high = middle;
    else low = middle;
  }
  return high * cupsAColony;
}

/** By how much a chance from so many draws may be off, 19 times in 20: at its largest, at one half. */
export const errorOfDraws = (runs: number): number => 1.96 / (2 * Math.sqrt(runs));
