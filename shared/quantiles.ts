import { createRequire } from 'node:module';
import type erfc from '@stdlib/math-base-special-erfc';
import type betaQuantileOf from '@stdlib/stats-base-dists-beta-quantile';
import type gammaQuantileOf from '@stdlib/stats-base-dists-gamma-quantile';
import type normalQuantileOf from '@stdlib/stats-base-dists-normal-quantile';
import type tQuantileOf from '@stdlib/stats-base-dists-t-quantile';

/**
 * The tail quantiles of every interval, from the stdlib packages; this file is the only place that names
 * them. `upperTail` is one half of what an interval leaves out: 0.025 for a two-sided 95 % interval.
 */

const load = createRequire(import.meta.url);
/** Loaded when first called: together they are over 400 files, a third of the start of a program that may call none. */
function once<T>(name: string): () => T {
  let found: T | undefined;
  return () => {
    found ??= load(name) as T;
    return found;
  };
}
const functions = {
  erfc: once<typeof erfc>('@stdlib/math-base-special-erfc'),
  betaQuantile: once<typeof betaQuantileOf>('@stdlib/stats-base-dists-beta-quantile'),
  gammaQuantile: once<typeof gammaQuantileOf>('@stdlib/stats-base-dists-gamma-quantile'),
  normalQuantile: once<typeof normalQuantileOf>('@stdlib/stats-base-dists-normal-quantile'),
  tQuantile: once<typeof tQuantileOf>('@stdlib/stats-base-dists-t-quantile'),
};

/** What a two-sided interval at `level` leaves out on each side: 0.025 at 0.95. */
export const tailOf = (level: number): number => (1 - level) / 2;

/** z: how many standard errors a two-sided normal interval at `level` reaches (1.96 at 0.95). */
export const normalReach = (level: number): number => -functions.normalQuantile()(tailOf(level), 0, 1);

/** By level and degrees of freedom; thousands of invented yards are judged with the same few. */
const tReaches = new Map<string, number>();
const T_REACHES_MAX = 1000;

/** t: the same for a spread estimated with that many degrees of freedom. */
export function tReachOf(level: number, degreesOfFreedom: number): number {
  const key = `${level} ${degreesOfFreedom}`;
  const known = tReaches.get(key);
  if (known !== undefined) return known;
  const reach = -functions.tQuantile()(tailOf(level), degreesOfFreedom);
  if (tReaches.size < T_REACHES_MAX) tReaches.set(key, reach);
  return reach;
}

/** t for a spread estimated from `clusters` clusters, `clusters - 1` degrees of freedom. */
export const tReach = (level: number, clusters: number): number => tReachOf(level, clusters - 1);

/** The quantile of the beta distribution with shapes `a` and `b`, both above 0. */
export const betaQuantile = (probability: number, a: number, b: number): number =>
  functions.betaQuantile()(probability, a, b);

/**
 * Above this shape the gamma quantile of the library strays: from 900 on it was off by up to 1e-3, measured
 * against SciPy 1.17.1; up to 890 it agreed to 1e-11.
 */
const GAMMA_SHAPE_MAX = 500;
/** A beta distribution with this second shape is a gamma distribution but for 2e-10 of its quantiles. */
const BETA_AS_GAMMA = 1e12;

/** The quantile of the gamma distribution with the given shape, above 0, and rate 1. */
export function gammaQuantile(probability: number, shape: number): number {
  if (shape <= GAMMA_SHAPE_MAX) return functions.gammaQuantile()(probability, shape, 1);
  const share = functions.betaQuantile()(probability, shape, BETA_AS_GAMMA);
  return (BETA_AS_GAMMA * share) / (1 - share);
}

/** The quantile of the chi-squared distribution. */
export const chiSquaredQuantile = (probability: number, degreesOfFreedom: number): number =>
  2 * gammaQuantile(probability, degreesOfFreedom / 2);

/** The chance that a standard normal draw lies below `x`. */
export const normalCdf = (x: number): number => functions.erfc()(-x / Math.SQRT2) / 2;
