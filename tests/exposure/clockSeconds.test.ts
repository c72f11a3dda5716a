import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { pairsOfSeconds } from '../../src/exposure/clockSeconds.js';
import type { TimePair } from '../../src/exposure/pace.js';
import { boardMs, durationMs, minutes, utcMs } from '../../src/units/time.js';

const MODULUS = 15;
const WITHIN = durationMs(1000);
const START = 1_790_000_000_123;
const HOUR = 3_600_000;

/** A board that runs `ppm` fast, and the second of each of its pages. */
const trueUtc = (board: number, ppm: number) => START + board / (1 + ppm / 1e6);
const marksOf = (times: readonly number[], ppm: number) =>
  times.map((time) => ({
    boardMs: boardMs(time),
    second: Math.floor(trueUtc(time, ppm) / 1000) % MODULUS,
  }));
const anchor = (board: number, ppm: number): TimePair => ({
  boardMs: boardMs(board),
  utc: utcMs(Math.round(trueUtc(board, ppm))),
  within: durationMs(200),
  by: 'host',
});
const everyTwoMinutes = (from: number, to: number) =>
  Array.from({ length: Math.floor((to - from) / minutes(2)) }, (_, index) => from + index * minutes(2));
const errors = (pairs: readonly TimePair[], ppm: number) =>
  pairs.map(({ boardMs: at, utc }) => Math.abs(utc - trueUtc(at, ppm)));

describe('pairsOfSeconds()', () => {
  it('follows the clock for twelve hours from one pair, wherever that lies, at any pace of a resonator', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: -5000, max: 5000 }),
        fc.integer({ min: 0, max: 12 * HOUR }),
        (ppm, known) => {
          const marks = marksOf(everyTwoMinutes(2000, 12 * HOUR), ppm);
          const pairs = pairsOfSeconds([anchor(known, ppm)], marks, MODULUS, WITHIN);
          expect(pairs).toHaveLength(74);
          expect(Math.max(...errors(pairs, ppm))).toBeLessThanOrEqual(WITHIN);
        },
      ),
      { numRuns: 50 },
    );
  });

  it('does not follow it over a gap in which two seconds might be meant, and goes on from the next pair', () => {
    const late = everyTwoMinutes(HOUR, 2 * HOUR);
    const marks = marksOf([...everyTwoMinutes(0, HOUR / 2), ...late], 4000);
    const before = pairsOfSeconds([anchor(0, 4000)], marks, MODULUS, WITHIN);
    expect(before.every(({ boardMs: at }) => at < HOUR / 2)).toBe(true);
    const both = pairsOfSeconds([anchor(0, 4000), anchor(2 * HOUR, 4000)], marks, MODULUS, WITHIN);
    expect(both.length).toBeGreaterThan(before.length);
    expect(Math.max(...errors(both, 4000))).toBeLessThanOrEqual(WITHIN);
  });

  it('would be wrong where it followed over such a gap (negative control)', () => {
    const marks = marksOf([HOUR * 2], 5000);
    expect(pairsOfSeconds([anchor(0, 5000)], marks, MODULUS, WITHIN)).toEqual([]);
    // With a modulus of an hour there is no doubt, and with one of fifteen seconds there was.
    const wide = [{ boardMs: boardMs(HOUR * 2), second: Math.floor(trueUtc(HOUR * 2, 5000) / 1000) % 3600 }];
    const [pair] = pairsOfSeconds([anchor(0, 5000)], wide, 3600, WITHIN);
    expect(Math.abs(pair!.utc - trueUtc(HOUR * 2, 5000))).toBeLessThanOrEqual(WITHIN);
    expect(Math.abs(pair!.utc - (START + HOUR * 2))).toBeGreaterThan(7500);
  });

  it('does not follow it past the moment at which it was set', () => {
    const times = everyTwoMinutes(0, HOUR);
    // Set on by 7 s after half an hour.
    const marks = [
      ...marksOf(times.slice(0, 15), 0).map(({ boardMs: at, second }) => ({
        boardMs: at,
        second: (second + MODULUS - 7) % MODULUS,
      })),
      ...marksOf(times.slice(15), 0),
    ];
    const pairs = pairsOfSeconds([anchor(HOUR, 0)], marks, MODULUS, WITHIN);
    expect(pairs.map(({ boardMs: at }) => at >= HOUR / 2)).toEqual([true, true, true, true, true]);
    expect(Math.max(...errors(pairs, 0))).toBeLessThanOrEqual(WITHIN);
  });

  it('knows nothing without one pair in full', () => {
    expect(pairsOfSeconds([], marksOf([0, 1000], 0), MODULUS, WITHIN)).toEqual([]);
  });
});
