import { Refusal } from '../units/refusal.js';
import { type Celsius, fromSixteenths } from '../units/temperature.js';
import { formatInstant, type UtcMs } from '../units/time.js';
import type { Observation } from './types.js';

/** What the air of a cup can be; a reading outside is an artefact. Both ends are accepted. */
export const PLAUSIBLE_MIN = -20 as Celsius;
export const PLAUSIBLE_MAX = 60 as Celsius;

/** Why a value that came from a probe is not an observation, in words for people. */
export interface Rejected {
  readonly rejected: string;
}

const REASONS: Readonly<Record<string, string>> = {
  'bad-crc': 'the probe’s nine bytes failed their check sum',
  'all-zero': 'the probe sent only zeros',
  missing: 'the probe did not answer',
  'not-converted': 'the probe had not converted (85.0 or 127.9375)',
  'bad-configuration': 'the probe was not set to 12 bits',
  restarted: 'the probe had restarted',
  'first-conversion': 'the probe had not finished its first conversion after a reset',
  unchanging: 'the probe gave one value for too long to have measured it',
  unplaced: 'nobody can prove when the board took it',
};

/** Whether a temperature is one that the air of a cup can have. */
export const isPlausible = (degrees: number): boolean => degrees >= PLAUSIBLE_MIN && degrees <= PLAUSIBLE_MAX;

/**
 * What a probe's value says of the air: its temperature, uncorrected, or why it says nothing. A rejected value is
 * kept and flagged, never used, and skipped when neighbours are sought.
 *
 * @param status `ok`, or why the board calls the value no observation; an unknown word rejects
 * @param sixteenths the raw value, null when the board had none
 */
export function trustworthy(status: string, sixteenths: number | null): Celsius | Rejected {
  if (status !== 'ok') return { rejected: REASONS[status] ?? `the board marked the value ${status}` };
  if (sixteenths === null) return { rejected: 'the board had no value' };
  const degrees = fromSixteenths(sixteenths);
  if (!isPlausible(degrees))
    return { rejected: `${degrees} °C is outside ${PLAUSIBLE_MIN} to ${PLAUSIBLE_MAX} °C` };
  return degrees;
}

/**
 * One probe's observations with identical duplicates collapsed.
 *
 * @param sorted by time, the earliest first; anything else is a RangeError
 * @throws {Refusal} when the probe has two different temperatures at one instant
 */
export function distinct(sorted: readonly Observation[], probe: string): Observation[] {
  const kept: Observation[] = [];
  for (const observation of sorted) {
    const last = kept.at(-1);
    if (last === undefined || observation.at > last.at) kept.push(observation);
    else if (observation.at < last.at) throw new RangeError(`the observations of ${probe} are not in order`);
    else if (observation.celsius !== last.celsius)
      throw conflict(probe, last.at, last.celsius, observation.celsius);
  }
  return kept;
}

/** The refusal of two different readings of a probe at one instant: nobody can tell which one is wrong. */
export const conflict = (probe: string, at: UtcMs, one: Celsius, other: Celsius): Refusal =>
  new Refusal(
    `probe ${probe} has two different readings at ${formatInstant(at)}, ${one} and ${other} °C; flag the wrong one`,
  );
