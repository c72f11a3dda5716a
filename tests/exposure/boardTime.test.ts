import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { boardToUtc, followEpoch, startEpoch } from '../../src/exposure/boardTime.js';
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
  it('reports a host clock that stood still instead of believing it', () => {
    const epoch = startEpoch(boardMs(0), monotonicMs(0));
    const asleep = followEpoch(epoch, boardMs(3_600_000), monotonicMs(1000));
    expect(asleep).toEqual({ epoch, jumpMs: -3_599_000 });
  });
});
