import { describe, expect, it } from 'vitest';
import type { CarrierSource } from '../../src/carrier/source.js';
import { runLogger } from '../../src/logger/logger.js';
import { isLogging, keepStore, SILENT_AFTER, takeStore } from '../../src/logger/presence.js';
import type { Store } from '../../src/store/store.js';
import { later, minutes, seconds, utcMs } from '../../src/units/time.js';
import { VirtualClock } from '../carrier/host/virtualClock.js';
import { eachInNewStore } from '../visit/newStore.js';

const START = utcMs(1_790_000_000_000);
/** Another process that lives. */
const OTHER = process.ppid;
const own = (now = START) => ({ pid: process.pid, beat: now, now, speed: 1, state: 'logging' });

let store: Store;
eachInNewStore((fresh) => {
  store = fresh;
}, START);

describe('keepStore()', () => {
  it('gives a sign of life of whoever took the store', () => {
    takeStore(store, process.pid, START);
    keepStore(store, own(later(START, seconds(2))));
    expect(store.logger()).toEqual(own(later(START, seconds(2))));
  });

  it('refuses when another one has taken it, and leaves that one be', () => {
    takeStore(store, process.pid, START);
    const long = later(START, seconds(17));
    takeStore(store, OTHER, long);
    expect(() => keepStore(store, own(long))).toThrow(
      `was taken over by another logger (process ${OTHER}) while this one (process ${process.pid}) stood still; this one stops, the other goes on.`,
    );
    expect(store.logger()).toMatchObject({ pid: OTHER, beat: long });
    store.clearLogger(process.pid);
    expect(store.logger()).toMatchObject({ pid: OTHER });
  });

  it('takes the store back when the other one has ended, in order or not', () => {
    takeStore(store, OTHER, START);
    store.clearLogger(OTHER);
    keepStore(store, own());
    expect(store.logger()).toEqual(own());
    // Fallen silent for good.
    store.setLogger({ ...own(), pid: OTHER });
    const long = later(START, (SILENT_AFTER + 1) as never);
    keepStore(store, own(long));
    expect(store.logger()).toEqual(own(long));
  });
});

describe('runLogger()', () => {
  const silent: CarrierSource = {
    name: 'A',
    open: () => Promise.resolve(),
    write: () => {},
    run: (_onEvent, signal) =>
      new Promise((resolve) => signal.addEventListener('abort', () => resolve(), { once: true })),
  };

  it('ends with one sentence when another logger has taken its store, and does not take that one away', async () => {
    const clock = new VirtualClock(START);
    let ended: unknown = null;
    const running = runLogger({
      ...{ store, sources: [{ source: silent, carrier: null }], clock, pid: process.pid },
      ...{ say: () => {}, signal: new AbortController().signal, whenUnwritable: 'wait' },
    }).catch((error: unknown) => {
      ended = error;
    });
    await clock.run(minutes(1));
    expect(store.logger()).toMatchObject({ pid: process.pid });
    // Negative control: it goes on for as long as nobody does.
    expect(ended).toBeNull();
    const other = { ...own(clock.utc()), pid: OTHER };
    store.setLogger(other);
    await clock.run(minutes(1) + seconds(3));
    await running;
    expect((ended as Error).message).toMatch(/was taken over by another logger/);
    expect(store.logger()).toEqual(other);
    expect(isLogging(store.logger(), clock.utc())).toBe(true);
  });
});
