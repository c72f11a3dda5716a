import { durationMs, later, MS_PER_MINUTE, minutes, type UtcMs, utcMs } from '../units/time.js';
import type { Cup } from './cup.js';
import type { Visit } from './season.js';

/** When a cup is to be turned. */
export interface TurnWindow {
  readonly due: UtcMs;
  /** Turned at these times of day its exposure has the right length whatever its load was within its precision. */
  readonly from: UtcMs;
  readonly to: UtcMs;
}

/** When a cup is due, and between which full minutes its exposure has the right length whatever its precision. */
export function dueWindow(
  { load, loadWithin }: Pick<Cup, 'load' | 'loadWithin'>,
  { rules }: Pick<Visit, 'rules'>,
): TurnWindow {
  const after = (exposed: number) => later(load, minutes(exposed));
  return {
    due: minuteFrom(after(rules.exposureMinutes)),
    from: minuteFrom(later(after(rules.exposureMinutesMin), loadWithin)),
    to: minuteUntil(later(after(rules.exposureMinutesMax), durationMs(-loadWithin))),
  };
}

/** The first full minute from an instant on, and the last up to one. */
const minuteFrom = (at: UtcMs): UtcMs => utcMs(Math.ceil(at / MS_PER_MINUTE) * MS_PER_MINUTE);
const minuteUntil = (at: UtcMs): UtcMs => utcMs(Math.floor(at / MS_PER_MINUTE) * MS_PER_MINUTE);
