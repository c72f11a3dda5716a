import type { Store } from '../store/store.js';
import { between, minutes, type UtcMs } from '../units/time.js';

/** When the last fact was recorded, if a computer's clock is behind that by so much that it must be wrong now or was then; else null. */
export function recordedAhead(store: Store, now: UtcMs): UtcMs | null {
  const last = store.facts().at(-1)?.recorded;
  return last !== undefined && between(now, last) > minutes(1) ? last : null;
}

/** The same as a sentence for whoever begins to log, read or watch; null when there is nothing to say. */
export function clockBehindInWords(store: Store, now: UtcMs, when: (at: UtcMs) => string): string | null {
  const last = recordedAhead(store, now);
  return last === null
    ? null
    : `this computer's clock says ${when(now)}, which is before the last record (${when(last)}): set it before you go on, for times are taken by it`;
}
