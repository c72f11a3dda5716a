import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Observation } from '../../../src/exposure/types.js';
import { reduced } from '../../../src/report/lab/reduce.js';
import { celsius } from '../../../src/units/temperature.js';
import { utcMs } from '../../../src/units/time.js';

/** A reading every ten seconds for three hours, one of them a dip. */
const dipping = (at: number, depth: number): Observation[] =>
  Array.from({ length: 1081 }, (_, index) => ({
    at: utcMs(index * 10_000),
    celsius: celsius(index === at ? depth : 30),
  }));

/** What `reduced` would be if it drew the mean of each column. */
const averaged = (readings: readonly Observation[], columns: number): Observation[] =>
  Array.from({ length: columns }, (_, column) => {
    const size = readings.length / columns;
    const part = readings.slice(Math.floor(column * size), Math.floor((column + 1) * size));
    return {
      at: part[0]!.at,
      celsius: celsius(part.reduce((sum, each) => sum + each.celsius, 0) / part.length),
    };
  });

const lowest = (readings: readonly Observation[]) => Math.min(...readings.map((each) => each.celsius));

describe('reduced()', () => {
  it('keeps a dip of one reading at its full depth, wherever it is', () => {
    fc.assert(
      fc.property(fc.nat(1080), fc.integer({ min: 2, max: 200 }), (at, columns) => {
        const kept = reduced(dipping(at, 12), columns);
        expect(lowest(kept)).toBe(12);
        expect(kept.length).toBeLessThanOrEqual(4 * columns);
      }),
    );
  });

  it('would be found out if it drew means', () => {
    expect(lowest(averaged(dipping(500, 12), 200))).toBeGreaterThan(25);
  });

  it('keeps the shape: of each column its ends, its coldest and its warmest reading', () => {
    // A wave of 60 readings a column or so, so that no two columns are alike.
    const wave = (index: number) => 25 + 8 * Math.sin(index / 17) + 3 * Math.sin(index / 5) + index / 400;
    const readings = Array.from({ length: 1081 }, (_, index) => ({
      at: utcMs(index * 10_000),
      celsius: celsius(wave(index)),
    }));
    const columns = 20;
    const missing = (kept: readonly Observation[]) => {
      const at = new Set(kept.map((each) => each.at));
      const span = readings.at(-1)!.at - readings[0]!.at;
      return Array.from({ length: columns }, (_, column) =>
        readings.filter(
          (each) =>
            Math.min(columns - 1, Math.floor(((each.at - readings[0]!.at) / span) * columns)) === column,
        ),
      ).filter((part) => {
        const sorted = part.toSorted((a, b) => a.celsius - b.celsius);
        return ![part[0]!, part.at(-1)!, sorted[0]!, sorted.at(-1)!].every((each) => at.has(each.at));
      }).length;
    };
    expect(missing(reduced(readings, columns))).toBe(0);
    expect(reduced(readings, columns).length).toBeGreaterThan(2 * columns);
    // Negative control: all in one column keeps a dip, and loses the shape.
    expect(missing(reduced(readings, 1))).toBeGreaterThan(columns / 2);
    expect(missing(averaged(readings, columns))).toBe(columns);
  });

  it('keeps order, both ends and every short run as it is', () => {
    const readings = dipping(7, 44);
    const kept = reduced(readings, 50);
    expect(kept.map(({ at }) => at)).toEqual(kept.map(({ at }) => at).toSorted((a, b) => a - b));
    expect([kept[0], kept.at(-1)]).toEqual([readings[0], readings.at(-1)]);
    expect(reduced(readings.slice(0, 40), 10)).toEqual(readings.slice(0, 40));
    expect(reduced([], 10)).toEqual([]);
  });
});
