import { wilsonCounts } from './proportion.js';
import { normalReach } from './quantiles.js';
import type { Interval, Recovery } from './types.js';

/** Mites on trays and in washes, added up. */
export interface Counts {
  readonly tray: number;
  readonly wash: number;
}

/** A corrected efficacy; null where the counts do not give one. */
export interface Corrected {
  readonly efficacyCorrected: number | null;
  readonly interval: Interval | null;
}

const NOT_KNOWN: Corrected = { efficacyCorrected: null, interval: null };

/**
 * Abbott's correction for what falls without a strip: 1 - (survival with strip) / (survival without), with the
 * log limits of the ratio of two survivals ("Obtaining confidence intervals for the risk ratio in cohort
 * studies", Biometrics 1978 34: 469-474) on raw counts. The interval is null when a survivor count is 0, the
 * value too when nothing survived without a strip or either side has no mites. A negative value is given as
 * it is.
 */
export function abbott(treated: Counts, control: Counts, level: number): Corrected {
  const treatedMites = treated.tray + treated.wash;
  const controlMites = control.tray + control.wash;
  if (treatedMites === 0 || controlMites === 0 || control.wash === 0) return NOT_KNOWN;
  const ratio = treated.wash / treatedMites / (control.wash / controlMites);
  if (treated.wash === 0) return { efficacyCorrected: 1, interval: null };
  const error = Math.sqrt(1 / treated.wash - 1 / treatedMites + 1 / control.wash - 1 / controlMites);
  const factor = Math.exp(normalReach(level) * error);
  return { efficacyCorrected: 1 - ratio, interval: [1 - ratio * factor, 1 - ratio / factor] };
}

/** The share the wash finds, and its limits when it comes from second washes. */
export function recoveryShare(recovery: Recovery, level: number): { q: number; interval: Interval | null } {
  if ('q' in recovery) return { q: recovery.q, interval: null };
  const { first, second } = recovery;
  return { q: first / (first + second), interval: wilsonCounts(first, first + second, level) };
}

/** The efficacy T / (T + W/q) when the raw efficacy is `efficacy`. */
const recovered = (efficacy: number, q: number): number => (efficacy * q) / (efficacy * q + (1 - efficacy));

/**
 * One corrected limit. On the logit scale the correction only adds ln q, so the two distances to the limits of
 * efficacy and of q, independent of each other, add as squares ("Construction of confidence limits about
 * effect measures: a general approach", Statistics in Medicine 2008 27: 1693-1702). At an efficacy or limit of
 * 0 or 1 the distance of efficacy is infinite, that of q adds nothing.
 */
function recoveredLimit(efficacy: number, limit: number, q: number, qLimit: number): number {
  if (qLimit === q || [efficacy, limit].some((share) => share <= 0 || share >= 1)) return recovered(limit, q);
  const logit = (share: number): number => Math.log(share / (1 - share));
  const distance = Math.hypot(logit(efficacy) - logit(limit), Math.log(q / qLimit));
  const shifted = logit(efficacy) + Math.log(q) + Math.sign(limit - efficacy) * distance;
  return 1 / (1 + Math.exp(-shifted));
}

/**
 * The efficacy corrected for survivors the wash missed, T / (T + W/q), with limits from those of the raw
 * efficacy and of q; a q without limits is taken as known.
 */
export function correctForRecovery(
  efficacy: number | null,
  interval: Interval | null,
  q: number,
  qInterval: Interval | null,
): Corrected {
  if (efficacy === null) return NOT_KNOWN;
  const [qLower, qUpper] = qInterval ?? [q, q];
  return {
    efficacyCorrected: recovered(efficacy, q),
    interval: interval && [
      recoveredLimit(efficacy, interval[0], q, qLower),
      recoveredLimit(efficacy, interval[1], q, qUpper),
    ],
  };
}
