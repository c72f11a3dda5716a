/**
 * Three kinds of time are three types: the board's counter is the ruler for an exposure, the host's
 * monotonic clock checks the ruler, UTC labels records and may jump.
 */
declare const utcBrand: unique symbol;
declare const monotonicBrand: unique symbol;
declare const boardBrand: unique symbol;
declare const durationBrand: unique symbol;

/** An instant, milliseconds since 1970-01-01T00:00:00Z. */
export type UtcMs = number & { readonly [utcBrand]: 'UtcMs' };

/** A reading of the host's monotonic clock, milliseconds since an origin of its own. */
export type MonotonicMs = number & { readonly [monotonicBrand]: 'MonotonicMs' };

/** A reading of a board's counter, milliseconds since that board's last reset. */
export type BoardMs = number & { readonly [boardBrand]: 'BoardMs' };

/** A length of time, milliseconds. */
export type DurationMs = number & { readonly [durationBrand]: 'DurationMs' };

/** A board's counter begins anew after this: 49.7 days. */
export const BOARD_MS_WRAP = 2 ** 32;
export const MS_PER_SECOND = 1000;
export const MS_PER_MINUTE = 60_000;

export const utcMs = (ms: number): UtcMs => ms as UtcMs;
export const monotonicMs = (ms: number): MonotonicMs => ms as MonotonicMs;
export const boardMs = (ms: number): BoardMs => ms as BoardMs;
export const durationMs = (ms: number): DurationMs => ms as DurationMs;
export const seconds = (s: number): DurationMs => (s * MS_PER_SECOND) as DurationMs;
export const minutes = (m: number): DurationMs => (m * MS_PER_MINUTE) as DurationMs;
export const inMinutes = (duration: DurationMs): number => duration / MS_PER_MINUTE;

/** The instant `by` later than `at` (earlier when negative). */
export const later = (at: UtcMs, by: DurationMs): UtcMs => (at + by) as UtcMs;

/** The time from `from` to `to`; negative when `to` is earlier. */
export const between = (from: UtcMs, to: UtcMs): DurationMs => (to - from) as DurationMs;

const RFC3339 =
  /^(\d{4})-(\d{2})-(\d{2})[Tt](\d{2}):(\d{2}):(\d{2})(?:\.(\d{1,9}))?(?:([Zz])|([+-])(\d{2}):(\d{2}))$/;

/**
 * Reads an RFC 3339 time with its offset. Returns null for anything else: a missing offset, a day the
 * calendar does not have, an hour 24, a leap second. `Date.parse` would guess in each of these cases.
 */
export function parseInstant(text: string): UtcMs | null {
  const m = RFC3339.exec(text);
  if (!m) return null;
  const [year, month, day, hour, minute, second] = m.slice(1, 7).map(Number) as [
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  const fraction = Number(`0.${m[7] ?? '0'}`);
  const offsetHour = Number(m[10] ?? 0);
  const offsetMinute = Number(m[11] ?? 0);
  if (hour > 23 || minute > 59 || second > 59 || offsetHour > 23 || offsetMinute > 59) return null;
  const wall = new Date(Date.UTC(year, month - 1, day, hour, minute, second));
  if (wall.getUTCMonth() !== month - 1 || wall.getUTCDate() !== day || wall.getUTCFullYear() !== year)
    return null;
  const sign = m[9] === '-' ? -1 : 1;
  const offset = sign * (offsetHour * 60 + offsetMinute) * MS_PER_MINUTE;
  return utcMs(wall.getTime() + Math.floor(fraction * MS_PER_SECOND) - offset);
}

/** Writes an instant as RFC 3339 in UTC with milliseconds. */
export function formatInstant(at: UtcMs): string {
  return new Date(at).toISOString();
}
