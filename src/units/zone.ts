import { Temporal } from 'temporal-polyfill';
import type { UtcMs } from './time.js';

/** An instant in full for people: RFC 3339 to the second, with the offset of an IANA time zone. */
export function inZone(at: UtcMs, zone: string): string {
  return Temporal.Instant.fromEpochMilliseconds(at).toZonedDateTimeISO(zone).toString({
    smallestUnit: 'second',
    timeZoneName: 'never',
  });
}

/** Day and time of day, `2026-05-13` and `07:03`. */
export const dayIn = (at: UtcMs, zone: string): string => inZone(at, zone).slice(0, 'YYYY-MM-DD'.length);
export const timeIn = (at: UtcMs, zone: string): string =>
  inZone(at, zone).slice('YYYY-MM-DDT'.length, 'YYYY-MM-DDTHH:MM'.length);

/** How an instant is written in a sentence for people. */
export type Telling = typeof inZone;

/** The zone under its own name when the system knows it, else null. */
export function knownZone(zone: string): string | null {
  try {
    return Temporal.Instant.fromEpochMilliseconds(0).toZonedDateTimeISO(zone).timeZoneId;
  } catch {
    return null;
  }
}

/** The zone this computer is set to; a setting, not a clock. */
export const localZone = (): string => Temporal.Now.timeZoneId();
