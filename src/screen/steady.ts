import { durationMs, type UtcMs } from '../units/time.js';

/** The logger's time is worked out from its last sign of life, and may come out this much less with the next one. */
const WAVERING = durationMs(1000);

/**
 * The same time, but never a little less than before: what a person enters next happened after what he entered last. A
 * clock that is really set back is followed.
 */
export function steady(now: () => UtcMs): () => UtcMs {
  let last: UtcMs | null = null;
  return () => {
    const at = now();
    if (last === null || at > last || last - at > WAVERING) last = at;
    return last;
  };
}
