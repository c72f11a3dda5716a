import { Refusal } from '../units/refusal.js';
import type { Celsius, CelsiusDifference } from '../units/temperature.js';
import { between, MS_PER_SECOND, minutes } from '../units/time.js';
import {
  ICE_OFFSET_MAX,
  ICE_READINGS_MIN,
  ICE_SPACING_MS_MIN,
  ICE_SPREAD_MAX,
  type IceCheck,
  iceCheck,
  meanOf,
  spreadOf,
} from './calibration.js';
import type { Observation } from './types.js';

/** Above this a probe is not in the ice: no probe that is any good reads so far off (j). */
export const ICE_NEAR_MAX = 5 as CelsiusDifference;
/** A probe in ice is left alone for so long before its readings count (j). */
export const ICE_SETTLE = minutes(3);

/** How a probe does in the ice. `standardDeviation` is that of the readings that would be used now. */
export interface IceProgress {
  readonly state: 'outside' | 'settling' | 'measuring' | 'unsteady' | 'implausible' | 'steady';
  readonly latest: Celsius | null;
  readonly standardDeviation: number | null;
  /** What is missing, or why it is refused, in words; null when steady. */
  readonly why: string | null;
  /** What the check gives; null unless steady. */
  readonly check: IceCheck | null;
}

/**
 * Looks at a probe's readings since the check was begun: whether it is in the ice, has settled, and passes on its
 * latest readings. Pure; readings trustworthy, uncorrected, in order of time.
 */
export function iceProgress(readings: readonly Observation[]): IceProgress {
  const last = readings.at(-1);
  const said = (state: IceProgress['state'], why: string, standardDeviation: number | null = null) => ({
    state,
    latest: last?.celsius ?? null,
    standardDeviation,
    why,
    check: null,
  });
  if (last === undefined) return said('outside', 'no reading yet');
  const inIce = readings.slice(readings.findLastIndex(({ celsius }) => Math.abs(celsius) > ICE_NEAR_MAX) + 1);
  const first = inIce[0];
  if (first === undefined) return said('outside', 'it is not in ice water');
  const settled = inIce.filter(({ at }) => between(first.at, at) >= ICE_SETTLE);
  if (settled.length === 0) {
    const left = Math.ceil((ICE_SETTLE - between(first.at, last.at)) / MS_PER_SECOND);
    return said('settling', `it settles for ${left} s more`);
  }
  const used = latestSpaced(settled);
  const values = used.map(({ celsius }) => celsius);
  const spread = values.length > 1 ? spreadOf(values) : null;
  if (used.length < ICE_READINGS_MIN)
    return said('measuring', `${used.length} of ${ICE_READINGS_MIN} readings`, spread);
  try {
    const check = iceCheck(used);
    return {
      state: 'steady',
      latest: last.celsius,
      standardDeviation: check.standardDeviation,
      why: null,
      check,
    };
  } catch (error) {
    if (!(error instanceof Refusal)) throw error;
    const isFarOff = (spread ?? 0) <= ICE_SPREAD_MAX && Math.abs(meanOf(values)) > ICE_OFFSET_MAX;
    return said(isFarOff ? 'implausible' : 'unsteady', error.message, spread);
  }
}

/** The latest readings that a check needs, no two closer than it allows. */
function latestSpaced(readings: readonly Observation[]): Observation[] {
  const used: Observation[] = [];
  for (const reading of readings.toReversed()) {
    const next = used[0];
    if (next === undefined || between(reading.at, next.at) >= ICE_SPACING_MS_MIN) used.unshift(reading);
    if (used.length === ICE_READINGS_MIN) break;
  }
  return used;
}
