import erfc from '@stdlib/math-base-special-erfc';
import betaQuantileOf from '@stdlib/stats-base-dists-beta-quantile';
import gammaQuantileOf from '@stdlib/stats-base-dists-gamma-quantile';
import normalQuantileOf from '@stdlib/stats-base-dists-normal-quantile';
import tQuantileOf from '@stdlib/stats-base-dists-t-quantile';

/**
 * The tail quantiles of every interval, from the stdlib packages; this file is the only place that names
 * them. `upperTail` is one half of what an interval leaves out: 0.025 for a two-sided 95 % interval.
 */

/** What a two-sided interval at `level` leaves out on each side: 0.025 at 0.95. */
export const tailOf = (level: number): number => (1 - level) / 2;

/** z: how many standard errors a two-sided normal interval at `level` reaches (1.96 at 0.95). */
export const normalReach = (level: number): number => -normalQuantileOf(tailOf(level), 0, 1);

/** By level and degrees of freedom; thousands of invented yards are judged with the same few. */
const tReaches = new Map<string, number>();
const T_REACHES_MAX = 1000;

/** t: the same for a spread estimated with that many degrees of freedom. */
export function tReachOf(level: number, degreesOfFreedom: number): number {
  const key = `${level} ${degreesOfFreedom}`;
  const known = tReaches.get(key);
  if (known !== undefined) return known;
  const reach = -tQuantileOf(tailOf(level), degreesOfFreedom);
  if (tReaches.size < T_REACHES_MAX) tReaches.set(key, reach);
  return reach;
}

/** t for a spread estimated from `clusters` clusters, `clusters - 1` degrees of freedom. */
export const tReach = (level: number, clusters: number): number => tReachOf(level, clusters - 1);

/** The quantile of the beta distribution with shapes `a` and `b`, both above 0. */
export const betaQuantile = (probability: number, a: number, b: number): number =>
  betaQuantileOf(probability, a, b);

/**
 * Above this shape the gamma quantile of the library strays: from 900 on it was off by up to 1e-3, measured
 * against SciPy 1.17.1; up to 890 it agreed to 1e-11.
 */
const GAMMA_SHAPE_MAX = 500;
/** A beta distribution with this second shape is a gamma distribution but for 2e-10 of its quantiles. */
const BETA_AS_GAMMA = 1e12;

/** The quantile of the gamma distribution with the given shape, above 0, and rate 1. */
export function gammaQuantile(probability: number, shape: number): number {
  if (shape <= GAMMA_SHAPE_MAX) return gammaQuantileOf(probability, shape, 1);
  const share = betaQuantileOf(probability, shape, BETA_AS_GAMMA);
  return (BETA_AS_GAMMA * share) / (1 - share);
}

/** The quantile of the chi-squared distribution. */
export const chiSquaredQuantile = (probability: number, degreesOfFreedom: number): number =>
  2 * gammaQuantile(probability, degreesOfFreedom / 2);

/** The chance that a standard normal draw lies below `x`. */
export const normalCdf = (x: number): number => erfc(-x / Math.SQRT2) / 2;
