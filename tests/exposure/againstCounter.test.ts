import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { heldAgainstCounter, knotsOf } from '../../src/exposure/againstCounter.js';
import { type TimePair, UNMEASURED } from '../../src/exposure/pace.js';
import { boardMs, durationMs, utcMs } from '../../src/units/time.js';

const MINUTE = 60_000;
const HOUR = 60 * MINUTE;
const DAY = 24 * HOUR;
/** The boot began at this instant. */
const ZERO = 100 * DAY;
const pair = (by: 'host' | 'clock', board: number, offMs = 0, within = 500): TimePair => ({
  boardMs: boardMs(board),
  utc: utcMs(ZERO + board + offMs),
  within: durationMs(within),
  by,
});

describe('heldAgainstCounter()', () => {
  it('drops what the clock told before it was set, and says by how much it was wrong', () => {
    const wrong = pair('clock', 20_000, -90 * DAY);
    const right = [pair('clock', 20 * MINUTE), pair('host', 20 * MINUTE + 5000)];
    const held = heldAgainstCounter([wrong, ...right]);
    expect(held.pairs).toEqual(right);
    expect(held.dropped).toEqual([wrong]);
    expect(held.disproved).toEqual([{ pair: wrong, differenceMs: -90 * DAY }]);
  });

  it.each([
    // Both withins, and 5000 ppm of twenty minutes: 0.5 s + 0.5 s + 6 s.
    [7000, true],
    [7001, false],
  ])(
    'leaves a clock time that is %d ms off after 20 min where nobody measured the pace: %s',
    (off, stays) => {
      const pairs = [pair('clock', 0, off), pair('host', 20 * MINUTE)];
      expect(heldAgainstCounter(pairs).pairs).toHaveLength(stays ? 2 : 1);
    },
  );

  it('holds it no closer where hosts have measured the pace, for it may be another meanwhile', () => {
    const measured = [pair('clock', 0, 4000), pair('host', 20 * MINUTE), pair('host', 80 * MINUTE)];
    expect(heldAgainstCounter(measured).disproved).toEqual([]);
    // What no counter can have counted is disproved all the same (negative control): 0.5 s + 0.5 s + 6 s.
    const wrong = [pair('clock', 0, 7001), ...measured.slice(1)];
    expect(heldAgainstCounter(wrong).disproved).toMatchObject([{ differenceMs: 7001 }]);
  });

  it('believes no host where two contradict each other', () => {
    const held = heldAgainstCounter([pair('host', 0), pair('clock', 1000), pair('host', HOUR, DAY)]);
    expect([held.pairs, held.isDisputed]).toEqual([[], true]);
    expect(heldAgainstCounter([pair('host', 0), pair('host', HOUR, 1000)]).isDisputed).toBe(false);
  });

  it('trusts, without a host, what the clock told since it was last set', () => {
    const before = [pair('clock', 0, -DAY), pair('clock', HOUR, -DAY)];
    const since = [pair('clock', 2 * HOUR), pair('clock', 3 * HOUR)];
    const held = heldAgainstCounter([...since, ...before]);
    expect(held.pairs).toEqual(since);
    expect(held.disproved.map(({ differenceMs }) => differenceMs)).toEqual([-DAY, -DAY]);
    // Set wrong and right again: what agrees from before is not proven either, and not contradicted.
    const twice = heldAgainstCounter([pair('clock', 0), pair('clock', HOUR, -DAY), ...since]);
    expect(twice.pairs).toEqual(since);
    expect([twice.dropped.length, twice.disproved.length]).toEqual([2, 1]);
  });
});

describe('knotsOf()', () => {
  it('leaves pairs as they are that a counter can have run between', () => {
    const pairs = [pair('host', 0, 0, 200), pair('clock', 20 * MINUTE, 3000)];
    expect(knotsOf(pairs)).toEqual(
      pairs.map(({ boardMs: at, utc, within }) => ({ boardMs: at, utc, within })),
    );
  });

  it('moves the one that is less sure, and says how far it may be wrong', () => {
    const [host, clock] = knotsOf([pair('clock', 10_000, 400), pair('host', 0, 0, 200)]);
    expect(host).toEqual({ boardMs: 0, utc: ZERO, within: 200 });
    expect(clock).toEqual({ boardMs: 10_000, utc: ZERO + 10_050, within: 500 });
  });

  it('holds the truth, wherever the pairs lie within what they claim', () => {
    const told = fc.record({
      board: fc.integer({ min: 0, max: 20 * MINUTE }),
      within: fc.integer({ min: 1, max: 2000 }),
      share: fc.double({ min: -1, max: 1, noNaN: true }),
    });
    const ppms = fc.integer({ min: -5000, max: 5000 });
    fc.assert(
      fc.property(fc.array(told, { minLength: 1, maxLength: 12 }), ppms, (all, ppm) => {
        const truth = (board: number) => ZERO + board * (1 + ppm / 1e6);
        const pairs = all.map(
          ({ board, within, share }): TimePair => ({
            boardMs: boardMs(board),
            utc: utcMs(truth(board) + share * within),
            within: durationMs(within),
            by: 'clock',
          }),
        );
        // None is dropped of what is true.
        expect(heldAgainstCounter(pairs).pairs).toHaveLength(pairs.length);
        for (const knot of knotsOf(pairs))
          expect(Math.abs(knot.utc - truth(knot.boardMs))).toBeLessThanOrEqual(knot.within + 1e-3);
      }),
    );
  });

  it('gives a pace that a counter can have between any two, whatever the pairs', () => {
    const any = fc.record({
      board: fc.integer({ min: 0, max: DAY }),
      off: fc.integer({ min: -DAY, max: DAY }),
      within: fc.integer({ min: 1, max: 2000 }),
      by: fc.constantFrom('host' as const, 'clock' as const),
    });
    fc.assert(
      fc.property(fc.array(any, { maxLength: 12 }), (all) => {
        const knots = knotsOf(all.map(({ by, board, off, within }) => pair(by, board, off, within)));
        for (const [index, knot] of knots.slice(1).entries()) {
          const elapsed = knot.boardMs - knots[index]!.boardMs;
          const off = Math.abs(knot.utc - knots[index]!.utc - elapsed);
          expect(off).toBeLessThanOrEqual(elapsed * UNMEASURED.within + 1e-3);
        }
      }),
    );
  });
});
