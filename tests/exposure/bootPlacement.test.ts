import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type BootEvidence, placeBoots } from '../../src/exposure/bootPlacement.js';
import { CRYSTAL_WANDERS, RESONATOR_WANDERS, type TimePair, UNMEASURED } from '../../src/exposure/pace.js';
import { boardMs, durationMs, utcMs } from '../../src/units/time.js';

const NOW = utcMs(1_000_000_000);
const pair = (board: number, utc: number, by: 'host' | 'clock' = 'clock', within = 500): TimePair => ({
  boardMs: boardMs(board),
  utc: utcMs(utc),
  within: durationMs(within),
  by,
});
const boot = (number: number, lastMs: number, ...pairs: TimePair[]): BootEvidence => ({
  boot: number,
  pairs,
  lastMs: boardMs(lastMs),
});
const at = (boots: readonly BootEvidence[], number: number, time: number, end = NOW) =>
  placeBoots(boots, end).get(number)?.at(boardMs(time)) ?? null;
const HOUR = 3_600_000;

describe('placeBoots()', () => {
  it('counts on from one pair, less and less surely', () => {
    const boots = [boot(1, HOUR, pair(1000, 501_000))];
    expect(at(boots, 1, 1000)).toEqual({ utc: 501_000, within: 500 });
    expect(at(boots, 1, 0)?.utc).toBe(500_000);
    const later = at(boots, 1, 1000 + HOUR)!;
    expect(later.utc).toBe(501_000 + HOUR);
    expect(later.within).toBeCloseTo(500 + HOUR * UNMEASURED.within, 6);
  });

  it('measures the counter between two pairs, and counts on at that pace', () => {
    const boots = [
      boot(1, 20 * HOUR, pair(0, 0, 'host', 10), pair(10 * HOUR, 10 * HOUR + 18_000, 'host', 10)),
    ];
    expect(at(boots, 1, 5 * HOUR)).toEqual({ utc: 5 * HOUR + 9000, within: 10 });
    expect(at(boots, 1, 20 * HOUR)!.utc).toBe(20 * HOUR + 36_000);
    expect(at(boots, 1, 20 * HOUR)!.within).toBeCloseTo(10 + 10 * HOUR * RESONATOR_WANDERS, 6);
  });

  it('believes no pace between pairs too close to tell it', () => {
    const boots = [boot(1, HOUR, pair(0, 0), pair(10_000, 10_400))];
    // Nor lets the counter run faster between them than one can: 10 s are at most 10.05 s.
    expect(at(boots, 1, HOUR)!.utc).toBe(HOUR + 50);
  });

  it('takes the pace from a boot that shows it better, and from earlier days', () => {
    const measured = boot(1, 10 * HOUR, pair(0, 0, 'host', 10), pair(10 * HOUR, 10 * HOUR + 360, 'host', 10));
    const alone = boot(2, HOUR, pair(0, 20 * HOUR));
    const same = at([measured, alone], 2, HOUR)!;
    expect(same.within).toBeCloseTo(500 + HOUR * CRYSTAL_WANDERS, 6);
    expect(same.utc).toBe(21 * HOUR + 36);
    const known = { rate: 1 + 10e-6, within: CRYSTAL_WANDERS };
    expect(placeBoots([alone], NOW, known).get(2)!.at(boardMs(HOUR))).toEqual(same);
    // A board that nobody measured is not trusted so far (negative control).
    expect(at([alone], 2, HOUR)!.within).toBeGreaterThan(10_000);
  });

  it('places nothing without evidence', () => {
    expect(placeBoots([boot(1, HOUR)], NOW).size).toBe(0);
    expect(placeBoots([], NOW).size).toBe(0);
  });

  it.each([
    [0, true],
    [2900, true],
    [3100, false],
  ])('lets a boot that fills the time between its neighbours to %d ms stand: %s', (slack, isPlaced) => {
    // Each neighbour is known to 500 ms, which leaves 1.5 s of the two seconds either way.
    const boots = [
      boot(1, 10_000, pair(10_000, 100_000)),
      boot(2, 60_000),
      boot(3, 10_000, pair(0, 160_000 + slack)),
    ];
    const placement = placeBoots(boots, NOW).get(2);
    expect(placement?.provenBy ?? null).toBe(isPlaced ? 'neighbours' : null);
    if (placement) expect(placement.at(boardMs(0)).utc).toBe(100_000 + slack / 2);
  });

  it('does not take a boot before the first known one, or a lone one, for bounded', () => {
    expect(at([boot(1, 1000), boot(2, 1000, pair(0, 5000))], 1, 0)).toBeNull();
    expect(at([boot(1, 0, pair(0, 0)), boot(2, 1000)], 2, 0, utcMs(100_000))).toBeNull();
  });

  it('trusts a boot less, beyond its last pair, that would still run when the next one had begun', () => {
    const first = boot(1, HOUR, pair(0, 0), pair(HOUR / 2, HOUR / 2));
    const all = [first, boot(2, HOUR, pair(0, HOUR - 10_000))];
    expect(at(all, 1, HOUR)!.within - at([first], 1, HOUR)!.within).toBe(10_000);
    // Half of the way from the pair half of it; what lies between pairs is proven.
    expect(at(all, 1, HOUR * 0.75)!.within - at([first], 1, HOUR * 0.75)!.within).toBe(5000);
    expect(at(all, 1, HOUR / 2)).toEqual(at([first], 1, HOUR / 2));
    expect(at(all, 2, 0)).not.toBeNull();
    // Within what the evidence leaves open, it stands (negative control).
    const soon = boot(2, HOUR, pair(0, HOUR - 1000));
    expect(at([first, soon], 1, HOUR)).toEqual(at([first], 1, HOUR));
  });

  it.each([
    ['no counter runs so', boot(1, HOUR, pair(0, 0), pair(HOUR / 2, HOUR / 2)), 25_000],
    ['all of it is proven', boot(1, HOUR, pair(0, 0), pair(HOUR, HOUR)), 10_000],
    [
      'its clock goes on',
      { ...boot(1, HOUR, pair(0, 0), pair(HOUR / 2, HOUR / 2)), isClockedToTheEnd: true },
      10_000,
    ],
  ] as const)('leaves it as it is when the next computer was set back: %s', (_why, first, backMs) => {
    const all = [first, boot(2, HOUR, pair(0, HOUR - backMs))];
    expect(at(all, 1, HOUR)).toEqual(at([first], 1, HOUR));
  });

  it('places each stretch by the computer that was heard in it', () => {
    const moved = [{ from: boardMs(HOUR), pairs: [pair(HOUR + 1000, HOUR + 6000, 'host', 200)] }];
    const of = (pairs: TimePair[]) => ({ ...boot(1, 2 * HOUR, ...pairs), moved });
    const all = [of([pair(0, 0, 'host', 200), pair(HOUR - 1000, HOUR - 1000)])];
    expect(at(all, 1, HOUR / 2)!.utc).toBe(HOUR / 2);
    expect(Math.abs(at(all, 1, HOUR - 1)!.utc - HOUR)).toBeLessThan(100);
    expect(at(all, 1, HOUR)!.utc).toBe(HOUR + 5000);
    // The later one proves nothing of what was before it.
    expect(at([of([])], 1, HOUR - 1)!.within).toBeGreaterThan(HOUR);
    expect(at([of([])], 1, HOUR + 1000)).toEqual({ utc: HOUR + 6000, within: 200 });
    // Without a clock that goes on, five seconds would be spread over the hour (negative control).
    const spread = [boot(1, 2 * HOUR, pair(0, 0, 'host', 200), ...moved[0]!.pairs)];
    expect(at(spread, 1, HOUR / 2)!.utc).toBeCloseTo(HOUR / 2 + 2500, -2);
  });
});

describe('pairs that the counter contradicts', () => {
  const DAY = 24 * HOUR;
  const FIRST = 100 * DAY;
  /** A clock that was 90 days behind, and set after twenty minutes. */
  const setInBetween = [
    pair(20_000, FIRST + 20_000 - 90 * DAY),
    pair(20 * 60_000, FIRST + 20 * 60_000),
    pair(20 * 60_000 + 10_000, FIRST + 20 * 60_000 + 10_000, 'host', 200),
  ];
  /** Placed as by a straight line from pair to pair, whatever the counter says. */
  const straight = (pairs: readonly TimePair[]) => (time: number) => {
    const sorted = [...pairs].sort((a, b) => a.boardMs - b.boardMs);
    const after = Math.max(
      1,
      sorted.findIndex(({ boardMs: board }) => board > time),
    );
    const [left, right] = [sorted[after - 1]!, sorted[after] ?? sorted[after - 1]!];
    const share = (time - left.boardMs) / (right.boardMs - left.boardMs || 1);
    return left.utc + share * (right.utc - left.utc);
  };
  /** Whether times go on with the counter, at a pace that one can have; each is rounded to a millisecond. */
  const isPossible = (times: readonly number[], place: (time: number) => number) => {
    const sorted = [...times].sort((a, b) => a - b);
    return sorted.slice(1).every((time, index) => {
      const elapsed = time - sorted[index]!;
      const passed = place(time) - place(sorted[index]!);
      return passed >= 0 && Math.abs(passed - elapsed) <= elapsed * UNMEASURED.within + 1.001;
    });
  };
  const everyMinute = Array.from({ length: 25 }, (_, minute) => minute * 60_000);

  it('place nothing: a boot whose clock was set in between is placed by what is right', () => {
    const placement = placeBoots([boot(1, HOUR, ...setInBetween)], utcMs(FIRST + DAY)).get(1)!;
    const place = (time: number) => placement.at(boardMs(time)).utc;
    for (const time of everyMinute) expect(Math.abs(place(time) - FIRST - time)).toBeLessThan(500);
    expect(isPossible(everyMinute, place)).toBe(true);
    // It does not claim to know well what it does not: twenty minutes at an unmeasured pace are 6 s.
    expect(placement.at(boardMs(0)).within).toBeGreaterThan(6000);
    // Straight from pair to pair it would be in the wrong month (negative control).
    expect(isPossible(everyMinute, straight(setInBetween))).toBe(false);
    expect(straight(setInBetween)(10 * 60_000)).toBeLessThan(FIRST - 30 * DAY);
  });

  it('place nothing where they are hosts’, not even between neighbours', () => {
    const disputed = boot(2, 60_000, pair(0, 100_000, 'host'), pair(60_000, 900_000, 'host'));
    const around = [boot(1, 10_000, pair(10_000, 100_000)), boot(3, 10_000, pair(0, 160_000))];
    expect(at([around[0]!, disputed, around[1]!], 2, 0)).toBeNull();
    expect(at([around[0]!, boot(2, 60_000), around[1]!], 2, 0)).not.toBeNull();
  });

  it('never make placed times go back or run at a pace that no counter has', () => {
    const any = fc.record({
      board: fc.integer({ min: 0, max: DAY }),
      off: fc.oneof(fc.integer({ min: -DAY, max: DAY }), fc.integer({ min: -3000, max: 3000 })),
      within: fc.integer({ min: 1, max: 2000 }),
      by: fc.constantFrom('host' as const, 'clock' as const),
    });
    const times = fc.array(fc.integer({ min: 0, max: DAY }), { minLength: 2, maxLength: 20 });
    let [placed, found] = [0, 0];
    fc.assert(
      fc.property(fc.array(any, { minLength: 1, maxLength: 8 }), times, (all, when) => {
        const pairs = all.map(({ board, off, within, by }) => pair(board, FIRST + board + off, by, within));
        const asked = [...when, ...pairs.map(({ boardMs: board }) => board)];
        const placement = placeBoots([boot(1, DAY, ...pairs)], utcMs(FIRST + 9 * DAY)).get(1);
        if (!isPossible(asked, straight(pairs))) found += 1;
        if (placement === undefined) return;
        placed += 1;
        expect(isPossible(asked, (time) => placement.at(boardMs(time)).utc)).toBe(true);
      }),
      { numRuns: 500 },
    );
    // Most are placed, and the same check finds a straight line from pair to pair out (negative control).
    expect(Math.min(placed, found)).toBeGreaterThan(100);
  });
});
