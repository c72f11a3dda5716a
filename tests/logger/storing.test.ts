import { describe, expect, it } from 'vitest';
import { SteppedClock } from '../../src/carrier/emulated/steppedClock.js';
import { BACK_OFF_MAX, type Outage, storing } from '../../src/logger/storing.js';
import { Unwritable } from '../../src/store/sqlite.js';
import { Refusal } from '../../src/units/refusal.js';
import { type DurationMs, durationMs, later, minutes, seconds, utcMs } from '../../src/units/time.js';

const START = utcMs(1_800_000_000_000);
const FULL = new Unwritable('the disk is full.', 'full');
const READ_ONLY = new Unwritable('the disk is read-only.', 'read-only');

/** A store that refuses what is written to it, for the reason that is set. */
function setUp(waits = true) {
  const clock = new SteppedClock(START);
  const told: string[] = [];
  const tries: number[] = [];
  const failures: unknown[] = [];
  const ended: Outage[] = [];
  const trouble: { is: Error | null } = { is: null };
  const write = () => {
    if (trouble.is !== null) throw trouble.is;
    told.push('written');
  };
  const kept = storing({
    clock,
    now: () => clock.utc(),
    retry() {
      tries.push(clock.monotonic());
      if (trouble.is !== null) throw trouble.is;
    },
    onBegin: ({ why }) => told.push(`begins: ${why}`),
    onEnd(outage) {
      ended.push(outage);
      told.push('ends');
    },
    waits,
    fail: (error) => failures.push(error),
  });
  /** Looks every two seconds, as the logger does. */
  const beatFor = (duration: DurationMs) => {
    for (const end = clock.monotonic() + duration; clock.monotonic() < end; ) {
      clock.moveTo(durationMs(clock.monotonic() + 2000));
      kept.look(write);
    }
  };
  return { clock, told, tries, failures, ended, trouble, write, kept, beatFor };
}

describe('storing()', () => {
  it('tries again with pauses that double up to a minute, and touches nothing in between', () => {
    const { told, tries, trouble, write, kept, beatFor } = setUp();
    trouble.is = FULL;
    kept.attempt(write);
    kept.attempt(() => told.push('must not be done'));
    beatFor(minutes(4));
    const pauses = tries.map((at, index) => at - (tries[index - 1] ?? 0));
    expect(pauses).toEqual([2, 4, 8, 16, 32, 60, 60].map((each) => each * 1000));
    expect(Math.max(...pauses)).toBe(BACK_OFF_MAX);
    expect(told).toEqual(['begins: full']);
  });

  it('goes on when it can, and says from when to when nothing was stored', () => {
    const { clock, told, trouble, ended, write, kept, beatFor } = setUp();
    beatFor(seconds(10));
    trouble.is = FULL;
    beatFor(seconds(2));
    beatFor(seconds(20));
    trouble.is = null;
    told.length = 0;
    beatFor(seconds(20));
    expect(kept.outage).toBeNull();
    expect(ended).toEqual([{ since: later(START, seconds(12)), why: 'full', words: FULL.message }]);
    expect(told[0]).toBe('ends');
    kept.attempt(write);
    expect(told.at(-1)).toBe('written');
    expect(clock.monotonic()).toBeGreaterThan(0);
  });

  it('is patient again only after a minute without trouble: a disk that fills at once is not asked every two seconds', () => {
    const { tries, trouble, write, kept, beatFor } = setUp();
    const outage = () => {
      trouble.is = FULL;
      kept.attempt(write);
      tries.length = 0;
      beatFor(seconds(4));
      return tries.length;
    };
    expect(outage()).toBe(1);
    beatFor(seconds(60));
    trouble.is = null;
    beatFor(seconds(64));
    // It could be written for a moment only.
    expect(outage()).toBe(0);
    trouble.is = null;
    beatFor(seconds(60 + 60 + 4));
    expect(outage()).toBe(1);
  });

  it('says when it has become another trouble, with the time of the first', () => {
    const { told, ended, trouble, write, kept, beatFor } = setUp();
    trouble.is = FULL;
    kept.attempt(write);
    trouble.is = READ_ONLY;
    beatFor(seconds(10));
    expect(told).toEqual(['begins: full', 'begins: read-only']);
    trouble.is = null;
    beatFor(seconds(60));
    expect(ended).toMatchObject([{ since: START, why: 'read-only' }]);
  });

  it.each([
    ['damage', new Refusal('it is damaged.'), true],
    ['a full disk when it is not to wait', FULL, false],
  ])('ends with the first failure, %s, and does nothing any more', (_, error, waits) => {
    const { told, failures, trouble, write, kept, beatFor } = setUp(waits);
    trouble.is = error;
    kept.attempt(write);
    trouble.is = null;
    kept.attempt(write);
    beatFor(seconds(10));
    expect(failures).toEqual([error]);
    expect(told).toEqual([]);
    expect(kept.outage).toBeNull();
  });
});
