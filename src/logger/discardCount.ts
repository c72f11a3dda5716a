import type { CarrierEvent, DiscardedEvent } from '../carrier/events.js';
import type { Store } from '../store/store.js';
import { minutes, type UtcMs } from '../units/time.js';

/** How long what was counted is kept before it costs a transaction of its own. */
const KEPT_MAX = minutes(1);

/** Counts what was discarded without a word to the disk: another device on a port may send thousands of lines a second. */
export interface DiscardCount {
  add(event: DiscardedEvent, now: UtcMs): void;
  /** Whether it should be written now: something is written with these events anyway, there are none, or it has waited long. */
  isDue(events: readonly CarrierEvent[], now: UtcMs): boolean;
  /** To be called inside a transaction; `forget` when that is durable. */
  write(): void;
  forget(): void;
}

export function discardCount(store: Pick<Store, 'countDiscard'>): DiscardCount {
  const counts = new Map<string, { times: number; bytes: number }>();
  let since: UtcMs | null = null;
  return {
    add({ reason, bytes }, now) {
      since ??= now;
      const count = counts.get(reason) ?? { times: 0, bytes: 0 };
      counts.set(reason, { times: count.times + 1, bytes: count.bytes + bytes });
    },
    isDue: (events, now) =>
      since !== null &&
      (events.length === 0 || now - since >= KEPT_MAX || events.some(({ kind }) => kind === 'scan')),
    write() {
      for (const [reason, { times, bytes }] of counts) store.countDiscard(reason, bytes, times);
    },
    forget() {
      counts.clear();
      since = null;
    },
  };
}
