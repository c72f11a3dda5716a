import { betaQuantile, normalReach, tailOf } from './quantiles.js';
import type { Interval } from './types.js';

/**
 * Limits of one proportion. All three agree with the published tables of "Two-sided confidence intervals for
 * the single proportion: comparison of seven methods", Statistics in Medicine 1998 17: 857-872.
 */

/**
 * Wilson's score limits for the proportion `p` seen in `n` trials, without continuity correction. `n` above 0
 * need not be whole (effective mites); `reach` is z, or t when the spread is itself an estimate.
 */
export function wilson(p: number, n: number, reach: number): Interval {
  const r2 = reach * reach;
  const centre = p + r2 / (2 * n);
  const half = reach * Math.sqrt((p * (1 - p)) / n + r2 / (4 * n * n));
  const scale = 1 + r2 / n;
  return [
    p === 0 ? 0 : Math.max(0, (centre - half) / scale),
    p === 1 ? 1 : Math.min(1, (centre + half) / scale),
  ];
}

/** Wilson's limits for `x` of `n` at `level`, with z. */
export const wilsonCounts = (x: number, n: number, level: number): Interval =>
  wilson(x / n, n, normalReach(level));

/** Clopper-Pearson ("exact") limits for `x` of `n` at `level`: never narrower than promised. */
export function clopperPearson(x: number, n: number, level: number): Interval {
  const tail = tailOf(level);
  return [x === 0 ? 0 : betaQuantile(tail, x, n - x + 1), x === n ? 1 : betaQuantile(1 - tail, x + 1, n - x)];
}

/** Jeffreys limits for `x` of `n` at `level`; the lower is 0 at x = 0 and the upper 1 at x = n. */
export function jeffreys(x: number, n: number, level: number): Interval {
  const tail = tailOf(level);
  return [
    x === 0 ? 0 : betaQuantile(tail, x + 0.5, n - x + 0.5),
    x === n ? 1 : betaQuantile(1 - tail, x + 0.5, n - x + 0.5),
  ];
}
