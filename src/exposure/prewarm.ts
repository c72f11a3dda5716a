import type { CelsiusDifference } from '../units/temperature.js';

/** How cold the carrier may be at first, against the air it is warmed with (j). */
export const PREWARM_DIFFERENCE = 15 as CelsiusDifference;
/** What of that may be left when the first cup is loaded (j). */
export const PREWARM_REMAINDER = 0.5 as CelsiusDifference;

/**
 * How long the air around a probe must have been warm, minutes, until a difference at the start has decayed to the
 * remainder: tau ln(difference / remainder).
 */
export const prewarmMinutes = (
  tauSeconds: number,
  difference: number = PREWARM_DIFFERENCE,
  remainder: number = PREWARM_REMAINDER,
): number => Math.max(0, (tauSeconds * Math.log(difference / remainder)) / 60);
