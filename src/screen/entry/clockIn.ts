import { Temporal } from 'temporal-polyfill';
import type { UtcMs } from '../../units/time.js';

/** Hours and minutes in a zone. */
export const clockIn = (at: UtcMs, zone: string): string =>
  Temporal.Instant.fromEpochMilliseconds(at)
    .toZonedDateTimeISO(zone)
    .toPlainTime()
    .toString({ smallestUnit: 'minute' });
