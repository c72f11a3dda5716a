import { type BetweenYards, type LogitYard, meanAt, varianceWhereQIs } from './betweenYards.js';
import { chiSquaredQuantile, normalCdf, tailOf } from './quantiles.js';
import { crossing } from './roots.js';
import type { Interval } from './types.js';

/** The share of all yards whose own efficacy lies below the line. */
export interface ShareBelow {
  readonly estimate: number;
  readonly interval: Interval;
}

/** How finely the uncertainty of the spread between yards is cut. */
const SLICES = 500;
/** Beyond this many standard deviations a share is 0 or 1. */
const REACH_MAX = 40;

/** One of equally likely states of the world: the spread between yards, and the mean that goes with it. */
interface State {
  readonly sd: number;
  readonly mean: number;
  readonly meanError: number;
}

function statesOf(yards: readonly LogitYard[]): State[] {
  return Array.from({ length: SLICES }, (_, slice) => {
    const between = varianceWhereQIs(yards, chiSquaredQuantile((slice + 0.5) / SLICES, yards.length - 1));
    const { mean, weight } = meanAt(yards, between);
    return { sd: Math.sqrt(between), mean, meanError: 1 / Math.sqrt(weight) };
  });
}

/**
 * The share of yards below the line (given as a logit) from the fitted distribution between yards,
 * Phi((line - mean) / sd), with a generalized confidence interval ("Generalized confidence intervals",
 * J Am Stat Assoc 1993 88: 899-905). At the true spread the weighted squares Q are chi-squared with k - 1
 * degrees of freedom, and the mean is normal and independent of Q. Turned round, each chi-squared value gives
 * a spread (0 when the yards agree better than that) and each normal value a mean, so a share; the limits are
 * the quantiles of these shares. Computed by slices, not by drawing, so the same yards give the same limits.
 */
export function shareBelow(
  yards: readonly LogitYard[],
  { mean, sd }: Pick<BetweenYards, 'mean' | 'sd'>,
  line: number,
  level: number,
): ShareBelow {
  const states = statesOf(yards);
  /** The chance that the share is at most Phi(z). */
  const chanceUpTo = (z: number): number =>
    states.reduce((sum, state) => sum + normalCdf((state.mean - line + state.sd * z) / state.meanError), 0) /
    SLICES;
  const limitAt = (probability: number): number => {
    if (chanceUpTo(-REACH_MAX) >= probability) return 0;
    if (chanceUpTo(REACH_MAX) <= probability) return 1;
    return normalCdf(crossing((z) => probability - chanceUpTo(z), -REACH_MAX, REACH_MAX));
  };
  const tail = tailOf(level);
  return {
    estimate: sd === 0 ? Number(mean < line) : normalCdf((line - mean) / sd),
    interval: [limitAt(tail), limitAt(1 - tail)],
  };
}
