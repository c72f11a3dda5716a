import { type Session, type SessionOptions, screenSession } from '../../src/screen/session.js';
import type { Store } from '../../src/store/store.js';
import { monotonicMs, type UtcMs } from '../../src/units/time.js';
import { NO_ENTRY } from './noEntry.js';

/** A screen on which nothing is entered, whose clocks all go by `now`. */
export const sessionOn = (store: Store, now: () => UtcMs, more: Partial<SessionOptions> = {}): Session =>
  screenSession({
    store,
    now,
    clock: { utc: now, monotonic: () => monotonicMs(now()) },
    title: 'stillwarm',
    zone: 'UTC',
    entry: NO_ENTRY,
    results: () => [],
    ...more,
  });
