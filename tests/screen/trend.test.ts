import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import type { Observation } from '../../src/exposure/types.js';
import { buckets, trendArrow, trendText } from '../../src/screen/trend.js';
import { celsius } from '../../src/units/temperature.js';
import { later, minutes, seconds } from '../../src/units/time.js';
import { at, SEVEN } from './invented.js';

/** Readings every ten seconds of the half hour before minute 30. */
const every10 = (degrees: (minute: number) => number | null): Observation[] =>
  Array.from({ length: 180 }, (_, i) => i / 6).flatMap((minute) => {
    const value = degrees(minute);
    return value === null ? [] : [{ at: later(SEVEN, minutes(minute)), celsius: celsius(value) }];
  });
const NOW = later(SEVEN, (minutes(30) - 1) as never);

describe('trendText()', () => {
  const trend = (observations: readonly Observation[], width = 15) =>
    trendText(observations, NOW, width, DEFAULT_RULES);

  it('draws the last half hour, the lowest bar for the cold and the highest for the hot', () => {
    // Default rule set: cold below 140/9 = 15.6, hot above 40; a bar is three degrees.
    expect(trend(every10(() => 27.5))).toBe('▅▅▅▅▅▅▅▅▅▅▅▅▅▅▅');
    expect(trend(every10((minute) => 30 - minute))).toBe('▆▅▄▄▃▂▂▁▁▁▁▁▁▁▁');
    expect(trend(every10((minute) => (minute < 2 ? 41 : 15)))).toBe(`█${'▁'.repeat(14)}`);
  });

  it('shows time without a reading as such', () => {
    expect(trend(every10((minute) => (minute >= 10 && minute < 14 ? null : 27.5)))).toBe('▅▅▅▅▅··▅▅▅▅▅▅▅▅');
    expect(trend([])).toBe('·'.repeat(15));
  });

  it('leaves blank what is not to be seen, which is not the same as not read', () => {
    const seen = (from: number) =>
      trendText(
        every10(() => 27.5),
        NOW,
        15,
        DEFAULT_RULES,
        at(from),
      );
    expect(seen(20)).toBe(`${' '.repeat(10)}▅▅▅▅▅`);
    // A stretch that is to be hidden in part is hidden.
    expect(seen(21)).toBe(`${' '.repeat(11)}▅▅▅▅`);
    expect(seen(0)).toBe('▅'.repeat(15));
  });

  it('does not draw a stretch that has only begun', () => {
    const steady = every10(() => 27.5);
    expect(trendText(steady, later(SEVEN, seconds(1805)), 15, DEFAULT_RULES)).toBe('▅'.repeat(15));
    expect(trendText(steady, later(SEVEN, seconds(1900)), 15, DEFAULT_RULES)).toMatch(/▅·$/);
  });

  it('shows a single cold reading that the mean of its stretch would hide', () => {
    const dip = every10((minute) => (minute === 15 ? 15 : 27.5));
    const stretch = dip.filter((o) => o.at >= at(14) && o.at < at(16)).map((o) => o.celsius);
    const mean = stretch.reduce((sum, value) => sum + value, 0) / stretch.length;
    expect(trend(dip)).toBe('▅▅▅▅▅▅▅▁▅▅▅▅▅▅▅');
    // Negative control: drawn from the mean it would look like its neighbours.
    expect(mean).toBeGreaterThan(DEFAULT_RULES.thresholdCelsius + 9);
  });

  it('loses no dip below the threshold, however short, and invents none', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 6, max: 30 }),
        fc.array(fc.double({ min: 10, max: 45, noNaN: true }), { minLength: 180, maxLength: 180 }),
        fc.nat(100),
        (width, degrees, warmth) => {
          // Mostly warm, with single readings below.
          const observations = every10((minute) => {
            const value = degrees[Math.round(minute * 6)]!;
            return value < 11 + warmth / 50 ? value : 16 + value / 3;
          });
          const text = trend(observations, width);
          expect([...text]).toHaveLength(width);
          const length = 30 / width;
          const cold = Array.from({ length: width }, (_, i) =>
            observations.some(
              (o) =>
                Math.floor((o.at - SEVEN) / (length * 60_000)) === i &&
                o.celsius < DEFAULT_RULES.thresholdCelsius,
            ),
          );
          // Stretches that divide the half hour evenly are where the test can say which reading is in which.
          if (Number.isInteger(1800 / width) && (SEVEN / 1000) % (1800 / width) === 0)
            expect([...text].map((bar) => bar === '▁')).toEqual(cold);
          expect(text.includes('▁')).toBe(cold.includes(true));
        },
      ),
      { numRuns: 60 },
    );
  });
});

describe('buckets()', () => {
  it('keeps the lowest and the highest of each stretch', () => {
    const points = [1, 2, 3, 5, 9].map((minute) => ({
      at: at(minute),
      celsius: celsius(minute === 2 ? -4 : minute),
    }));
    expect(buckets(points, at(1), minutes(2), 4)).toEqual([
      { min: -4, max: 1 },
      { min: 3, max: 3 },
      { min: 5, max: 5 },
      null,
    ]);
  });
});

describe('trendArrow()', () => {
  const arrow = (degrees: (minute: number) => number) => trendArrow(every10(degrees), NOW);
  it.each([
    ['falling', (minute: number) => 30 - minute / 10, '↓'],
    ['rising', (minute: number) => 20 + minute / 10, '↑'],
    ['steady', () => 27.5, '→'],
    ['falling long ago only', (minute: number) => (minute < 20 ? 30 - minute : 10), '→'],
  ])('tells what is %s', (_, degrees, expected) => expect(arrow(degrees)).toBe(expected));

  it('is blank when nothing tells', () => {
    expect(trendArrow([], NOW)).toBe(' ');
    expect(trendArrow([{ at: at(0), celsius: celsius(20) }], NOW)).toBe(' ');
  });
});
