import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import type { Observation } from '../../src/exposure/types.js';
import { widthOf } from '../../src/screen/line.js';
import { type Trace, traceChart } from '../../src/screen/traceChart.js';
import { celsius } from '../../src/units/temperature.js';
import { at } from './invented.js';
import { texts } from './views.js';

const THRESHOLD = DEFAULT_RULES.thresholdCelsius;
const traceOf = (observations: readonly Observation[], end = 180): Trace => ({
  observations,
  load: at(0),
  end: at(end),
  rules: DEFAULT_RULES,
  zone: 'UTC',
});
/** Readings three times a minute. */
const every20 = (minutes: number, degrees: (minute: number) => number | null): Observation[] =>
  Array.from({ length: minutes * 3 }, (_, i) => i / 3).flatMap((minute) => {
    const value = degrees(minute);
    return value === null ? [] : [{ at: at(minute), celsius: celsius(value) }];
  });

describe('traceChart()', () => {
  it('draws all between the lowest and the highest of each column', () => {
    const dip = every20(180, (minute) => (minute >= 100 && minute < 100.3 ? 10 : 27.5));
    const chart = texts(traceChart(traceOf(dip), 'C', 69, 7));
    expect(chart).toEqual([
      '  28.5°C│████████████████████████████████████████████████████████████',
      '        │                                 █',
      '        │                                 █',
      '        │                                 █',
      '  15.6°C│─────────────────────────────────█──────────────────────────',
      '        │                                 █',
      '   9.0°C│                                 █',
      '         05:00                      06:30                       08:00',
    ]);
  });

  it('hatches what was not read, and leaves empty what is still to come', () => {
    const chart = texts(
      traceChart(
        traceOf(
          every20(90, (minute) => (minute >= 30 && minute < 60 ? null : 27.5)),
          90,
        ),
        'C',
        69,
        5,
      ),
    );
    expect(chart[0]).toBe(`  28.5°C│${'█'.repeat(10)}${'░'.repeat(9)}${'█'.repeat(11)}`);
    // The last reading before the gap is a little before minute 30.
    expect(chart[1]).toBe(`        │${' '.repeat(9)}${'░'.repeat(11)}`);
  });

  it('shows a gap that is shorter than a column', () => {
    const steady = (gap: boolean) =>
      traceChart(
        traceOf(every20(180, (minute) => (gap && minute > 100 && minute < 102 ? null : 27.5))),
        'C',
        49,
        5,
      );
    expect(texts(steady(true)).join()).toContain('░');
    expect(texts(steady(false)).join()).not.toContain('░');
  });

  it('draws no temperature on the wrong side of the threshold, and keeps to its size', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -20, max: 60, noNaN: true }), { minLength: 1, maxLength: 60 }),
        fc.integer({ min: 40, max: 160 }),
        fc.integer({ min: 5, max: 12 }),
        (degrees, width, height) => {
          const observations = degrees.map((value, i) => ({ at: at(i * 3), celsius: celsius(value) }));
          const lines = traceChart(traceOf(observations), 'F', width, height);
          expect(lines).toHaveLength(height + 1);
          for (const line of lines) expect(widthOf(line)).toBeLessThanOrEqual(width);
          const rows = texts(lines).slice(0, height);
          const line = rows.findIndex((row) => row.startsWith('  60.0°F'));
          const below = rows.slice(line + 1).some((row) => row.includes('█'));
          expect(below).toBe(degrees.some((value) => value < THRESHOLD));
        },
      ),
    );
  });
});
