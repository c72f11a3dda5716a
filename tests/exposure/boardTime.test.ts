import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { boardToUtc, followEpoch, goOn, SETTLES, startEpoch } from '../../src/exposure/boardTime.js';
import { boardMs, monotonicMs, utcMs } from '../../src/units/time.js';

const anchor = { utc: utcMs(1_778_000_000_000), monotonic: monotonicMs(500) };

describe('boardToUtc()', () => {
  it('places the board by the wall clock of the logger start, once', () => {
    const epoch = startEpoch(boardMs(100), monotonicMs(1500));
    expect(boardToUtc(epoch, boardMs(100), anchor)).toBe(anchor.utc + 1000);
    expect(boardToUtc(epoch, boardMs(10_100), anchor)).toBe(anchor.utc + 11_000);
  });

  it('follows a resonator that is 0.5 % fast for three hours to within half a second', () => {
    // 0.5 % ceramic resonator: sensing.md section 3 (common on cheap boards, from memory)
    let epoch = startEpoch(boardMs(0), monotonicMs(500));
    for (let second = 1; second <= 3 * 3600; second += 1) {
      const board = boardMs(second * 1005);
      const step = followEpoch(epoch, board, monotonicMs(500 + second * 1000 + (second % 7) * 5));
      expect(step.jumpMs).toBe(0);
      epoch = step.epoch;
      expect(Math.abs(boardToUtc(epoch, board, anchor) - (anchor.utc + second * 1000))).toBeLessThan(500);
    }
  });

  it('never runs backwards from line to line, whatever the delays', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 0, max: 300 }), { minLength: 2, maxLength: 300 }), (delays) => {
        let epoch = startEpoch(boardMs(0), monotonicMs(delays[0]!));
        let previous = Number.NEGATIVE_INFINITY;
        delays.forEach((delay, index) => {
          const board = boardMs(index * 1000);
          epoch = followEpoch(epoch, board, monotonicMs(index * 1000 + delay)).epoch;
          const utc = boardToUtc(epoch, board, anchor);
          expect(utc).toBeGreaterThan(previous);
          previous = utc;
        });
      }),
    );
  });
});

describe('followEpoch()', () => {
  /** The offset and the jumps after lines at these board times that came so late. */
  const followed = (lines: readonly (readonly [at: number, late: number])[]) => {
    let epoch = startEpoch(boardMs(lines[0]![0]), monotonicMs(lines[0]![0] + lines[0]![1]));
    const jumps: number[] = [];
    for (const [at, late] of lines.slice(1)) {
      const step = followEpoch(epoch, boardMs(at), monotonicMs(at + late));
      epoch = step.epoch;
      jumps.push(step.jumpMs);
    }
    return { offset: epoch.offsetMs, jumps };
  };

  it('takes the least delay of the first two minutes, whatever the first lines were late by', () => {
    expect(
      followed([
        [0, 5000],
        [3000, 20],
        [4000, 30],
      ]),
    ).toEqual({ offset: 20, jumps: [0, 0] });
    const minute = Array.from({ length: 60 }, (_, second) => [second * 1000, 5000 + second] as const);
    expect(followed([...minute, [61_000, 15]]).offset).toBe(15);
    // A line that is late after one that was not shows nothing.
    expect(
      followed([
        [0, 10],
        [3000, 5000],
        [6000, 40],
      ]),
    ).toEqual({ offset: 10, jumps: [0, 0] });
  });

  it('loses no time to lines that were kept while the host slept and come all at once', () => {
    let epoch = startEpoch(boardMs(0), monotonicMs(20));
    let shifted = 0;
    const hear = (at: number, host: number) => {
      const step = followEpoch(epoch, boardMs(at), monotonicMs(host));
      shifted += step.jumpMs;
      epoch = step.jumpMs === 0 ? step.epoch : goOn(boardMs(at), monotonicMs(host));
    };
    for (let second = 1; second <= 200; second += 1) hear(second * 1000, second * 1000 + 20);
    // Its clock stands still for an hour; a minute of lines was kept.
    for (let second = 201; second <= 260; second += 1) hear(second * 1000, 200_020 + (second - 200) * 3);
    hear(3_800_000, 200_300);
    // What the host's clock is put on by, and where the epoch lies by then, are the hour.
    expect(epoch.offsetMs - shifted).toBe(20);
    expect(shifted).toBeCloseTo(-3_599_720, -1);
  });

  it('lets the board be the ruler from then on (negative controls)', () => {
    const late = Array.from({ length: 60 }, (_, index) => [index * 2000, 5000] as const);
    expect(followed([...late, [SETTLES, 0]]).jumps.at(-1)).toBe(-5000);
    const gone = goOn(boardMs(0), monotonicMs(5000));
    expect(followEpoch(gone, boardMs(3000), monotonicMs(3000))).toMatchObject({
      epoch: { offsetMs: 5000 },
      jumpMs: -5000,
    });
  });

  it('reports a host clock that stood still instead of believing it', () => {
    const epoch = startEpoch(boardMs(0), monotonicMs(0));
    const asleep = followEpoch(epoch, boardMs(3_600_000), monotonicMs(1000));
    expect(asleep).toMatchObject({ epoch: { offsetMs: 0 }, jumpMs: -3_599_000 });
  });

  /** A minute of lines that came in time, and what follows. */
  const settled = (lines: readonly (readonly [at: number, late: number])[]) =>
    followed([...Array.from({ length: 180 }, (_, second) => [second * 1000, 20] as const), ...lines]);

  it('takes what two oscillators ran apart by while nothing was heard, and nothing that is late', () => {
    // A resonator: up to 0.5 % (sensing.md section 3), 18 s in an hour.
    for (const apart of [-14_000, 14_000]) {
      const { offset, jumps } = settled([[3_779_000, apart + 20]]);
      expect([offset, jumps.at(-1)]).toEqual([apart + 20, 0]);
    }
    expect(
      settled([
        [3_779_000, 14_020 + 1500],
        [3_780_000, 14_040],
        [3_781_000, 14_030],
      ]).offset,
    ).toBe(14_030);
    // More than that is no oscillator's.
    expect(settled([[3_779_000, -30_000]]).jumps.at(-1)).toBe(-30_020);
    // Lines that were kept for the host are late by far, whatever comes first.
    expect(
      settled([
        [3_779_000, 600_000],
        [3_780_000, 14_040],
      ]).offset,
    ).toBe(14_040);
  });

  it('ignores lines that are late, and those that come all at once when the host was stopped', () => {
    const { offset, jumps } = settled([
      [180_000, 5000],
      [181_000, 4000],
      [182_000, 20],
    ]);
    expect([offset, new Set(jumps)]).toEqual([20, new Set([0])]);
    // A minute of lines, kept for an hour.
    const kept = Array.from(
      { length: 80 },
      (_, second) => [180_000 + second * 1000, 3_600_000 - second * 1000] as const,
    );
    const stopped = settled([...kept, [3_781_000, 3620], [3_782_000, 3620]]);
    expect([stopped.offset, new Set(stopped.jumps)]).toEqual([3620, new Set([0])]);
  });

  it('reports a host clock that was put on once no line is late by less (negative control)', () => {
    const on = Array.from({ length: 130 }, (_, second) => [180_000 + second * 1000, 3_600_020] as const);
    expect(settled(on).jumps.find((jump) => jump !== 0)).toBe(3_600_000);
  });
});
