import type { Clock } from '../../units/clock.js';
import { type BoardMs, boardMs } from '../../units/time.js';

/** A difference this large between the two clocks is a machine that slept, not their coarseness. */
const SLEPT_MS = 2000;

/**
 * The ruler of a source without a counter of its own: the host's monotonic clock, which no setting of the wall clock
 * moves. It stands still while the machine sleeps; what it missed is added when the other clock, which goes on, tells.
 * So a sleep is a gap of its true length, as if a board had counted through it.
 */
export function hostRuler(clock: Pick<Clock, 'monotonic' | 'sinceBoot'>): () => BoardMs {
  const zero = clock.monotonic();
  const apart = clock.sinceBoot() - zero;
  let slept = 0;
  return () => {
    const now = clock.monotonic();
    const more = clock.sinceBoot() - now - apart - slept;
    if (more > SLEPT_MS) slept += more;
    return boardMs(Math.round(now - zero + slept));
  };
}
