import { clusteredRatio, type Share } from './clusters.js';
import { gammaQuantile, normalReach, tailOf, tReach } from './quantiles.js';
import type { Infestation, Interval } from './types.js';

/** Mites are counted per this many bees. */
export const PER_BEES = 100;

/**
 * Mites per 100 bees of a yard: the ratio of sums over clusters (`part` mites, `whole` bees) with t(k-1)
 * standard errors either way, not below 0. Null without bees; the interval null below two clusters.
 */
export function clusteredInfestation(clusters: readonly Share[], level: number): Infestation {
  const { k, ratio, variance } = clusteredRatio(clusters);
  if (ratio === null) return { per100: null, interval: null };
  const per100 = PER_BEES * ratio;
  if (variance === null) return { per100, interval: null };
  const reach = PER_BEES * tReach(level, k) * Math.sqrt(variance);
  return { per100, interval: [Math.max(0, per100 - reach), per100 + reach] };
}

/** Exact limits of a Poisson mean of which `count` was seen. */
export function poissonLimits(count: number, level: number): Interval {
  const tail = tailOf(level);
  return [count === 0 ? 0 : gammaQuantile(tail, count), gammaQuantile(1 - tail, count + 1)];
}

/**
 * Mites per 100 bees of one colony with exact Poisson limits, widened when `bees`, above 0, is an estimate
 * with coefficient of variation `cv` (0 when the bees were counted). The widening is equation 9 of
 * "Closed-form confidence intervals for functions of the normal mean and standard deviation", Statistical
 * Methods in Medical Research 2012 21: 347-359, with bees (1 +- z cv). The interval is null when z cv
 * reaches 1: such an estimate of the bees says nothing.
 */
export function colonyInfestation(mites: number, bees: number, cv: number, level: number): Infestation {
  const per100 = (PER_BEES * mites) / bees;
  const spread = normalReach(level) * cv;
  if (spread >= 1) return { per100, interval: null };
  const [low, high] = poissonLimits(mites, level);
  const scale = 1 - spread * spread;
  const limit = (bound: number, sign: 1 | -1): number => {
    const root = Math.sqrt(mites * mites - bound * (2 * mites - bound) * scale);
    return (PER_BEES * (mites + sign * root)) / (bees * scale);
  };
  return { per100, interval: [Math.max(0, limit(low, -1)), limit(high, 1)] };
}
