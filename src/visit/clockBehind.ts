import type { Store } from '../store/store.js';
import { between, type DurationMs, minutes, type UtcMs } from '../units/time.js';

/** How far a computer's clock is behind the last record, if that is so much that it must be wrong now or was then; else null. */
export function behindRecord(recorded: UtcMs | null, now: UtcMs): DurationMs | null {
  const behind = recorded === null ? null : between(now, recorded);
  return behind !== null && behind > minutes(1) ? behind : null;
}

/** When the last fact was recorded, if this computer's clock is behind that; else null. */
export function recordedAhead(store: Store, now: UtcMs): UtcMs | null {
  const last = store.facts().at(-1)?.recorded ?? null;
  return behindRecord(last, now) === null ? null : last;
}

/** The same as a sentence for whoever begins to log, read or watch; null when there is nothing to say. */
export function clockBehindInWords(store: Store, now: UtcMs, when: (at: UtcMs) => string): string | null {
  const last = recordedAhead(store, now);
  return last === null
    ? null
    : `this computer's clock says ${when(now)}, which is before the last record (${when(last)}): set it before you go on, for times are taken by it`;
}
