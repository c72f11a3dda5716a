import { describe, expect, it } from 'vitest';
import {
  combined,
  iceCheck,
  lineFit,
  offsetAt,
  type ReferencePoint,
  twoPointCalibration,
} from '../../src/exposure/calibration.js';
import type { Observation } from '../../src/exposure/types.js';
import { U_PROBE_ICE_CHECKED } from '../../src/exposure/uncertainty.js';
import { celsius, celsiusDifference } from '../../src/units/temperature.js';
import { later, seconds } from '../../src/units/time.js';
import { LOAD } from './traces.js';

const readings = (degrees: readonly number[], everySeconds = 10): Observation[] =>
  degrees.map((value, index) => ({
    at: later(LOAD, seconds(index * everySeconds)),
    celsius: celsius(value),
  }));
const times = (count: number, value: number): number[] => Array.from({ length: count }, () => value);

describe('iceCheck()', () => {
  it('gives the mean as offset, and an uncertainty that is the sum of its named terms', () => {
    const check = iceCheck(readings([...times(10, 0.125), ...times(10, 0.1875)]));
    expect(check.offset).toBeCloseTo(0.15625, 12);
    // sample standard deviation of 10 + 10 values 1/16 apart: 1/32 sqrt(20/19) (by hand)
    expect(check.standardDeviation).toBeCloseTo(Math.sqrt(20 / 19) / 32, 12);
    expect(check.readings).toBe(20);
    expect(check.budget.map(({ name }) => name.split(',')[0])).toEqual([
      'mean of 20 readings',
      'ice point of crushed tap-water ice',
      'drift until the next check',
      'self-heating',
      'resolution in ice',
      'resolution in use',
    ]);
    expect(check.uncertainty).toBe(combined(check.budget));
    // three rectangular +-0.1, two rectangular +-1/32, and the mean's own: by JCGM 100:2008, 4.3.7 and 5.1
    expect(check.uncertainty).toBeCloseTo(
      Math.sqrt(3 * (0.01 / 3) + 2 * (1 / 32 ** 2 / 3) + 20 / 19 / 32 ** 2 / 20),
      12,
    );
  });

  it('agrees with the fixed value of a checked probe when the readings do not scatter', () => {
    expect(iceCheck(readings(times(20, 0.0625))).uncertainty).toBeCloseTo(U_PROBE_ICE_CHECKED, 3);
  });

  it('needs 20 readings that are 10 s apart, and says how long to wait', () => {
    expect(() => iceCheck(readings(times(19, 0)))).toThrow(
      /has 19 readings 10 s apart, 20 are needed; .*1 min/,
    );
    expect(() => iceCheck(readings(times(39, 0), 5))).not.toThrow();
    expect(() => iceCheck(readings(times(38, 0), 5))).toThrow(/has 19 readings/);
    expect(() => iceCheck([])).toThrow(/has 0 readings .* for 4 min more/);
  });

  it('refuses a probe that wanders, and takes one that just does not', () => {
    // of 20 readings 10 at each of two values, the standard deviation is half their difference by sqrt(20/19)
    const apart = (difference: number) => readings([...times(10, 0), ...times(10, difference)]);
    const limit = 0.1 / Math.sqrt(20 / 19);
    expect(() => iceCheck(apart(limit - 1e-9))).not.toThrow();
    expect(() => iceCheck(apart(limit + 1e-6))).toThrow(/wanders by 0\.050 °C .* stir/);
  });

  it('refuses a probe more than half a degree off, either way, and takes one half a degree off', () => {
    expect(iceCheck(readings(times(20, -0.5))).offset).toBe(-0.5);
    expect(() => iceCheck(readings(times(20, 0.5625)))).toThrow(
      /reads 0\.56 °C in ice, further off than 0\.5/,
    );
    expect(() => iceCheck(readings(times(20, -0.5625)))).toThrow(/reads -0\.56 °C/);
  });
});

const point = (reference: number, u: number, reading: number, uReading: number): ReferencePoint => ({
  reference: celsius(reference),
  referenceUncertainty: celsiusDifference(u),
  reading: celsius(reading),
  readingUncertainty: celsiusDifference(uReading),
});

describe('twoPointCalibration()', () => {
  const line = twoPointCalibration(point(0, 0.06, 0.2, 0.08), point(40, 0.03, 40.5, 0.04));

  it('goes through both points, with the uncertainty of each there', () => {
    expect(offsetAt(line, celsius(0.2)).offset).toBeCloseTo(0.2, 12);
    expect(offsetAt(line, celsius(40.5)).offset).toBeCloseTo(0.5, 12);
    // sqrt(0.06^2 + 0.08^2) and sqrt(0.03^2 + 0.04^2): by hand
    expect(offsetAt(line, celsius(0.2)).uncertainty).toBeCloseTo(0.1, 12);
    expect(offsetAt(line, celsius(40.5)).uncertainty).toBeCloseTo(0.05, 12);
  });

  it('propagates both between the points and beyond', () => {
    // at a part w of the way the offset is (1-w) o1 + w o2, so u^2 = (1-w)^2 0.1^2 + w^2 0.05^2: JCGM 100:2008, 5.1.2
    for (const w of [0.25, 0.5, 1.5]) {
      const raw = celsius(0.2 + w * 40.3);
      expect(offsetAt(line, raw).uncertainty).toBeCloseTo(Math.hypot((1 - w) * 0.1, w * 0.05), 12);
    }
  });

  it('refuses points that lie too close, whichever is first', () => {
    expect(() => twoPointCalibration(point(0, 0, 0, 0), point(10, 0, 10, 0))).not.toThrow();
    expect(() => twoPointCalibration(point(9.9, 0, 9.9, 0), point(0, 0, 0, 0))).toThrow(/lie 9\.90 °C apart/);
  });
});

/** JCGM 100:2008 (GUM), annex H.3, table H.6: thermometer readings and their observed corrections, t0 = 20 degC. */
const H3 = [
  [21.521, -0.171],
  [22.012, -0.169],
  [22.512, -0.166],
  [23.003, -0.159],
  [23.507, -0.164],
  [23.999, -0.165],
  [24.513, -0.156],
  [25.002, -0.157],
  [25.503, -0.159],
  [26.01, -0.161],
  [26.511, -0.16],
] as const;

/** An offset is a correction with the other sign. */
const h3Points = H3.map(([degrees, correction]) => ({
  celsius: celsius(degrees),
  offset: celsiusDifference(-correction),
}));

describe('lineFit()', () => {
  const fit = lineFit(h3Points, celsius(20));

  // unrounded figures: computed here in double precision by the formulas of H.3.2; they round to those printed there
  it.each([
    ['y1', -fit.intercept, -0.17120379013, 4, -0.1712],
    ['y2', -fit.slope, 0.00218269774, 5, 0.00218],
    ['s(y1)', fit.interceptUncertainty, 0.00287759784, 4, 0.0029],
    ['s(y2)', fit.slopeUncertainty, 0.00066793877, 5, 0.00067],
    ['r(y1, y2)', fit.correlation, -0.930429603, 3, -0.93],
    ['s', fit.standardDeviation, Math.sqrt(1.10096583e-4 / 9), 4, 0.0035],
    ['b(30)', -offsetAt(fit, celsius(30)).offset, -0.149376812732, 4, -0.1494],
    ['u(b(30))', offsetAt(fit, celsius(30)).uncertainty, 0.00413859575, 4, 0.0041],
  ])('agrees with GUM H.3 in %s', (_, value, unrounded, decimals, printed) => {
    expect(value).toBeCloseTo(unrounded, 7);
    expect(Number(value.toFixed(decimals))).toBe(printed);
  });

  it('has n - 2 degrees of freedom, and the residuals of H.3', () => {
    expect(fit.degreesOfFreedom).toBe(9);
    expect(fit.standardDeviation ** 2 * 9).toBeCloseTo(1.10096583e-4, 11);
  });

  it('would not agree with one correction changed', () => {
    const changed = lineFit(
      h3Points.map((each, index) => (index === 3 ? { ...each, offset: celsiusDifference(0.169) } : each)),
      celsius(20),
    );
    expect(Math.abs(changed.slope - fit.slope)).toBeGreaterThan(1e-5);
  });

  it('is the same line wherever its origin is', () => {
    const other = lineFit(h3Points, celsius(0));
    for (const raw of [0, 20, 24, 40].map(celsius)) {
      expect(offsetAt(other, raw).offset).toBeCloseTo(offsetAt(fit, raw).offset, 10);
      expect(offsetAt(other, raw).uncertainty).toBeCloseTo(offsetAt(fit, raw).uncertainty, 10);
    }
  });

  it('refuses fewer than three points and points at one temperature', () => {
    expect(() => lineFit(h3Points.slice(0, 2), celsius(20))).toThrow(/at least 3 points, there are 2/);
    const same = [0.1, 0.2, 0.3].map((offset) => ({
      celsius: celsius(20),
      offset: celsiusDifference(offset),
    }));
    expect(() => lineFit(same, celsius(20))).toThrow(/all points .* lie at 20 °C/);
  });
});
