import { describe, expect, it } from 'vitest';
import {
  bestPace,
  CRYSTAL_WANDERS,
  measuredPace,
  RESONATOR_WANDERS,
  type TimePair,
  UNMEASURED,
} from '../../src/exposure/pace.js';
import { boardMs, durationMs, utcMs } from '../../src/units/time.js';

const HOUR = 3_600_000;
const pair = (board: number, utc: number, within = 200): TimePair => ({
  boardMs: boardMs(board),
  utc: utcMs(utc),
  within: durationMs(within),
  by: 'host',
});
const over = (elapsed: number, ppm: number, within = 200) => [
  pair(elapsed, Math.round(elapsed * (1 + ppm / 1e6)), within),
  pair(0, 0, within),
];

describe('measuredPace()', () => {
  it.each([
    ['a crystal, over a day', over(24 * HOUR, 20), 20, CRYSTAL_WANDERS],
    ['a crystal, over two hours', over(2 * HOUR, 20), 20, 400 / (2 * HOUR)],
    ['a resonator, over a day', over(24 * HOUR, -3000), -3000, RESONATOR_WANDERS],
    ['what may be either, over ten minutes', over(HOUR / 6, 0), 0, RESONATOR_WANDERS],
  ])('tells %s', (_name, pairs, ppm, within) => {
    const pace = measuredPace(pairs);
    expect(pace.rate).toBeCloseTo(1 + ppm / 1e6, 6);
    expect(pace.within).toBeCloseTo(within, 9);
  });

  it('measures nothing from one pair, or from two that are too close', () => {
    expect(measuredPace([])).toEqual(UNMEASURED);
    expect(measuredPace([pair(5, 7)])).toEqual(UNMEASURED);
    expect(measuredPace(over(60_000, 0))).toEqual(UNMEASURED);
  });
});

describe('a pace that no oscillator has', () => {
  it('is not believed: the counter came round between two pairs', () => {
    const pairs = [pair(2 ** 32 - 60_000, 0, 200), pair(60_000, 120_000, 200)];
    expect(measuredPace(pairs)).toEqual(UNMEASURED);
    expect(bestPace([pairs, over(24 * HOUR, 7)])).toEqual(measuredPace(over(24 * HOUR, 7)));
  });
});

describe('bestPace()', () => {
  it('is the surest of a board’s boots', () => {
    expect(bestPace([over(HOUR, 5), over(24 * HOUR, 7), []])).toEqual(measuredPace(over(24 * HOUR, 7)));
    expect(bestPace([])).toEqual(UNMEASURED);
  });

  it('is no crystal’s where another boot shows that it runs otherwise there', () => {
    const [warm, cold] = [over(4 * HOUR, 40), over(4 * HOUR, -460)];
    expect(bestPace([warm, cold]).within).toBe(RESONATOR_WANDERS);
    expect(bestPace([cold], measuredPace(warm)).within).toBe(RESONATOR_WANDERS);
    // A short boot that leaves open whether it does says nothing (negative control).
    expect(bestPace([warm, over(HOUR / 6, -460)])).toEqual(measuredPace(warm));
  });
});
