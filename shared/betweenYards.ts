import { chiSquaredQuantile, tailOf, tReach, tReachOf } from './quantiles.js';
import { crossing } from './roots.js';
import type { Interval } from './types.js';

/** A yard's efficacy on the logit scale, with the variance it has from its own cups. */
export interface LogitYard {
  readonly logit: number;
  readonly variance: number;
}

/** ln(p / (1-p)). */
export const logit = (share: number): number => Math.log(share / (1 - share));

/** The share whose logit is `value`. */
export const fromLogit = (value: number): number => 1 / (1 + Math.exp(-value));

/** What is added to the fallen and to the surviving mites of a yard where all or none fell. */
const HALF_A_MITE = 0.5;

/**
 * A yard's efficacy, seen in that many effective mites, on the logit scale: ln(T/W) with variance 1/T + 1/W,
 * T and W shares of the effective mites. Where all or none fell the logit is infinite, so half a mite is added
 * to T and to W, in that yard alone.
 */
export function logitYard(efficacy: number, effectiveMites: number): LogitYard {
  const added = efficacy === 0 || efficacy === 1 ? HALF_A_MITE : 0;
  const fallen = efficacy * effectiveMites + added;
  const survived = (1 - efficacy) * effectiveMites + added;
  return { logit: Math.log(fallen / survived), variance: 1 / fallen + 1 / survived };
}

/** The mean of the yards at a given variance between them. */
export interface MeanAt {
  readonly mean: number;
  /** Sum of the weights 1 / (own variance + variance between). */
  readonly weight: number;
  /** Weighted squares about the mean: chi-squared with k - 1 degrees of freedom at the true variance. */
  readonly q: number;
}

export function meanAt(yards: readonly LogitYard[], between: number): MeanAt {
  let [weight, sum] = [0, 0];
  for (const yard of yards) {
    const own = 1 / (yard.variance + between);
    weight += own;
    sum += own * yard.logit;
  }
  const mean = sum / weight;
  let q = 0;
  for (const yard of yards) q += (yard.logit - mean) ** 2 / (yard.variance + between);
  return { mean, weight, q };
}

/** The restricted log likelihood of the variance between yards, without its constant. */
function restrictedLikelihood(yards: readonly LogitYard[], between: number): number {
  const { weight, q } = meanAt(yards, between);
  const logs = yards.reduce((sum, { variance }) => sum + Math.log(variance + between), 0);
  return -(logs + Math.log(weight) + q) / 2;
}

/** Twice the derivative of the restricted log likelihood by the variance between yards. */
function slopeAt(yards: readonly LogitYard[], between: number): number {
  const { mean, weight } = meanAt(yards, between);
  let [squares, ofWeights, ofSquares] = [0, 0, 0];
  for (const { logit: y, variance } of yards) {
    const own = 1 / (variance + between);
    squares += (own * (y - mean)) ** 2;
    ofWeights += own;
    ofSquares += own * own;
  }
  return squares - ofWeights + ofSquares / weight;
}

/** The variance between yards is sought from 0 to this many squared ranges of the logits, where it must lie. */
const RANGES_MAX = 4;
const GRID = Array.from({ length: 61 }, (_, i) => (i / 60) ** 3);

/**
 * The variance between yards by restricted maximum likelihood (REML), not below 0. Every hill of the
 * likelihood on a grid is refined and compared with 0.
 */
export function restrictedVariance(yards: readonly LogitYard[]): number {
  const logits = yards.map((yard) => yard.logit);
  const highest = RANGES_MAX * (Math.max(...logits) - Math.min(...logits)) ** 2;
  const grid = GRID.map((part) => part * highest);
  const slopes = grid.map((between) => slopeAt(yards, between));
  let best = { between: 0, likelihood: restrictedLikelihood(yards, 0) };
  for (let i = 0; i + 1 < grid.length; i += 1) {
    if (!((slopes[i] ?? 0) > 0 && (slopes[i + 1] ?? 0) <= 0)) continue;
    const between = crossing((x) => slopeAt(yards, x), grid[i] ?? 0, grid[i + 1] ?? 0);
    const likelihood = restrictedLikelihood(yards, between);
    if (likelihood > best.likelihood) best = { between, likelihood };
  }
  return best.between;
}

const NEWTON_STEPS_MAX = 200;

/**
 * The variance between yards at which the weighted squares come to `q`; 0 when they never reach it. The squares
 * fall with the variance, ever more slowly, so Newton's steps from 0 approach from below and never overshoot.
 */
export function varianceWhereQIs(yards: readonly LogitYard[], q: number): number {
  let between = 0;
  for (let step = 0; step < NEWTON_STEPS_MAX; step += 1) {
    const at = meanAt(yards, between);
    const fall = yards.reduce(
      (sum, { logit: y, variance }) => sum + ((y - at.mean) / (variance + between)) ** 2,
      0,
    );
    const next = between + (at.q - q) / fall;
    if (!(next > between)) break;
    between = next;
  }
  return between;
}

/** The yards of a season taken together, on the logit scale. */
export interface BetweenYards {
  readonly k: number;
  readonly mean: number;
  /** Knapp and Hartung's, with t(k-1). */
  readonly meanInterval: Interval;
  /** Where the next yard's own efficacy lies, with t(k-2); null below three yards. */
  readonly prediction: Interval | null;
  /** The standard deviation between yards, and its limits from the weighted squares (Q profile). */
  readonly sd: number;
  readonly sdInterval: Interval;
  /** Cochran's Q: the weighted squares as if yards did not differ. */
  readonly cochranQ: number;
}

/**
 * Random effects over two or more yards: the variance between them by REML, the mean by inverse variance with
 * Knapp and Hartung's standard error sqrt(q / (k-1) / weight), the prediction mean +- t(k-2) sqrt(variance
 * between + standard error squared). Where no variance between yards is found, q / (k-1) is not taken below 1:
 * yards that agree by luck would give an interval without width. Null below two yards. Sources: README.md.
 */
export function betweenYards(yards: readonly LogitYard[], level: number): BetweenYards | null {
  const k = yards.length;
  if (k < 2) return null;
  const between = restrictedVariance(yards);
  const { mean, weight, q } = meanAt(yards, between);
  const factor = between === 0 ? Math.max(1, q / (k - 1)) : q / (k - 1);
  const error = Math.sqrt(factor / weight);
  const reach = tReach(level, k) * error;
  const next = k < 3 ? null : tReachOf(level, k - 2) * Math.hypot(Math.sqrt(between), error);
  const sdAt = (probability: number): number =>
    Math.sqrt(varianceWhereQIs(yards, chiSquaredQuantile(probability, k - 1)));
  return {
    k,
    mean,
    meanInterval: [mean - reach, mean + reach],
    prediction: next === null ? null : [mean - next, mean + next],
    sd: Math.sqrt(between),
    sdInterval: [sdAt(1 - tailOf(level)), sdAt(tailOf(level))],
    cochranQ: meanAt(yards, 0).q,
  };
}
