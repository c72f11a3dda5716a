import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { drawFall, drawMites, fallChance, MITE_MODEL, release } from '../../src/emulator/mites.js';
import { seededChance } from '../../src/units/clock.js';

const HALF_MINUTE = 1 / 120;
const threeHoursAt = (degrees: number) => new Array<number>(360).fill(degrees);
const temperature = fc.double({ min: -5, max: 45, noNaN: true });

describe('release()', () => {
  test('is nothing in the cold, little at 60 degF and full when brood-warm', () => {
    expect(release(MITE_MODEL.idleCelsius)).toBe(0);
    expect(release((60 - 32) / 1.8)).toBeLessThan(0.05);
    expect(release(MITE_MODEL.fullCelsius)).toBe(1);
    expect(release(45)).toBe(1);
  });

  test('never falls as the air gets warmer', () => {
    fc.assert(
      fc.property(temperature, fc.double({ min: 0, max: 20, noNaN: true }), (degrees, more) => {
        expect(release(degrees + more)).toBeGreaterThanOrEqual(release(degrees));
      }),
    );
  });
});

describe('fallChance()', () => {
  test('never falls when a course is warmer throughout', () => {
    fc.assert(
      fc.property(
        fc.array(temperature, { minLength: 1, maxLength: 60 }),
        fc.double({ min: 0, max: 10, noNaN: true }),
        (course, more) => {
          const warmer = course.map((degrees) => degrees + more);
          // Tolerance 1e-12: sums of equal terms in floating point
          expect(fallChance('strip', warmer, 0.05)).toBeGreaterThanOrEqual(
            fallChance('strip', course, 0.05) - 1e-12,
          );
        },
      ),
    );
  });

  test('is far below 70 % in the cold and far above when brood-warm', () => {
    expect(fallChance('strip', threeHoursAt(12), HALF_MINUTE)).toBeLessThan(0.1);
    expect(fallChance('strip', threeHoursAt(32), HALF_MINUTE)).toBeGreaterThan(0.9);
  });

  test('reaches the susceptible share and natural fall, not more', () => {
    // 1 - (1 - 0.93) exp(-0.01 * 24) by hand
    const day = new Array<number>(24 * 120).fill(34);
    expect(fallChance('strip', day, HALF_MINUTE)).toBeCloseTo(1 - 0.07 * Math.exp(-0.24), 9);
  });

  test('without a strip is small and the same at any temperature', () => {
    const cold = fallChance('no-strip', threeHoursAt(8), HALF_MINUTE);
    expect(cold).toBeCloseTo(1 - Math.exp(-0.03), 12); // by hand
    expect(fallChance('no-strip', threeHoursAt(34), HALF_MINUTE)).toBe(cold);
  });
});

describe('drawMites()', () => {
  test('has the mean and the spread of a negative binomial', () => {
    const chance = seededChance(5);
    const n = 20_000;
    const draws = Array.from({ length: n }, () => drawMites(chance));
    const mean = draws.reduce((sum, draw) => sum + draw, 0) / n;
    const variance = draws.reduce((sum, draw) => sum + (draw - mean) ** 2, 0) / n;
    const { meanMites, spread } = MITE_MODEL;
    const expected = meanMites + meanMites ** 2 / spread; // textbook moments of the gamma-Poisson mixture
    expect(mean).toBeCloseTo(meanMites, 0);
    expect(variance / expected).toBeGreaterThan(0.95);
    expect(variance / expected).toBeLessThan(1.05);
    // Negative control: a plain Poisson count would have a variance equal to its mean
    expect(variance).toBeGreaterThan(2 * mean);
  });
});

describe('drawFall()', () => {
  test('puts every mite on the tray or into the wash', () => {
    fc.assert(
      fc.property(fc.nat(60), fc.double({ min: 0, max: 1, noNaN: true }), fc.nat(), (mites, fall, seed) => {
        const { tray, wash } = drawFall(mites, fall, seededChance(seed));
        expect(tray + wash).toBe(mites);
      }),
    );
  });

  test('never puts fewer on the tray at a higher chance with the same draws', () => {
    fc.assert(
      fc.property(fc.nat(60), fc.tuple(temperature, temperature), fc.nat(), (mites, degrees, seed) => {
        const [cold, warm] = degrees
          .toSorted((a, b) => a - b)
          .map((each) =>
            drawFall(mites, fallChance('strip', threeHoursAt(each), HALF_MINUTE), seededChance(seed)),
          );
        expect(warm!.tray).toBeGreaterThanOrEqual(cold!.tray);
      }),
    );
  });
});
