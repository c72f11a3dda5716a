import { durationMs, later, type UtcMs } from '../units/time.js';

/** A time this far ahead of the clock is a slip of the pen; less is two clocks that differ. */
const FUTURE_MAX = durationMs(60_000);

/** An objection to a time that has not come yet. */
export function futureObjection(at: UtcMs, now: UtcMs, told: (at: UtcMs) => string): string | null {
  return at > later(now, FUTURE_MAX) ? `${told(at)} is in the future; give the time it happened.` : null;
}
