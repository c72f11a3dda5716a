import { type MonotonicMs, monotonicMs } from './time.js';

/** A difference this large between the two clocks is a machine that slept, not their coarseness. */
const SLEPT_MS = 2000;

/**
 * A clock as fine as a monotonic one, which no setting of the wall clock moves, and which goes on while the machine sleeps:
 * the monotonic one stands still then, and what it missed is added when the other, which goes on, tells. So a sleep is a gap
 * of its true length. Sleeps of less than two seconds are added once they amount to that.
 *
 * @param monotonic never jumps; stands still while the machine sleeps
 * @param sinceBoot never jumps, and goes on; may be as coarse as a second
 */
export function throughSleep(monotonic: () => MonotonicMs, sinceBoot: () => MonotonicMs): () => MonotonicMs {
  const apart = sinceBoot() - monotonic();
  let slept = 0;
  return () => {
    const now = monotonic();
    const more = sinceBoot() - now - apart - slept;
    if (more > SLEPT_MS) slept += more;
    return monotonicMs(now + slept);
  };
}
