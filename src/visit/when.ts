import { Temporal } from 'temporal-polyfill';
import { Refusal } from '../units/refusal.js';
import { parseInstant, type UtcMs, utcMs } from '../units/time.js';
import { knownZone } from '../units/zone.js';

const CLOCK_TIME = /^([01]\d|2[0-3]):([0-5]\d)(?::([0-5]\d))?$/;

/** Whether a text says a time in one of the two ways that are taken. */
export const isTime = (text: string): boolean => parseInstant(text) !== null || CLOCK_TIME.test(text);

/**
 * The instant that `--at` means: `HH:MM` or `HH:MM:SS` today in the zone, or RFC 3339 with its offset; now
 * when it was not given. A clock time that the day has twice or never (a change of summer time) is refused.
 */
export function instantAt(text: string | undefined, zone: string, now: UtcMs, what = '--at'): UtcMs {
  if (text === undefined) return now;
  const full = parseInstant(text);
  if (full !== null) return full;
  if (!CLOCK_TIME.test(text))
    throw new Refusal(
      `${what} ${text} is not a time; write HH:MM for today in ${zone}, or the whole as 2026-05-12T09:30:00+02:00.`,
    );
  const today = Temporal.Instant.fromEpochMilliseconds(now).toZonedDateTimeISO(zone).toPlainDate();
  const local = today.toPlainDateTime(Temporal.PlainTime.from(text));
  try {
    return utcMs(local.toZonedDateTime(zone, { disambiguation: 'reject' }).epochMilliseconds);
  } catch {
    throw new Refusal(
      `${what} ${text} happens twice or never today in ${zone} (summer time changes); write the whole as ${local.toString({ smallestUnit: 'second' })}+HH:MM.`,
    );
  }
}

/** The zone itself when the system knows it; anything else is refused. */
export function checkedZone(zone: string): string {
  const known = knownZone(zone);
  if (known === null)
    throw new Refusal(`--zone ${zone} is not a time zone; write an IANA name such as Etc/UTC.`);
  return known;
}
