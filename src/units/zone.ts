import { Temporal } from 'temporal-polyfill';
import type { UtcMs } from './time.js';

/** An instant in full for people: RFC 3339 to the second, with the offset of an IANA time zone. */
export function inZone(at: UtcMs, zone: string): string {
  return Temporal.Instant.fromEpochMilliseconds(at).toZonedDateTimeISO(zone).toString({
    smallestUnit: 'second',
    timeZoneName: 'never',
  });
}

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
