import { describe, expect, it } from 'vitest';
import {
  betaBetween,
  betaCelsius,
  betaOhm,
  ratioCelsius,
  steinhartHartCelsius,
  steinhartHartThrough,
} from '../../src/exposure/thermistor.js';
import { celsius } from '../../src/units/temperature.js';

/** degC and ohm of part b57330v2103, B25/85 = 3435 K: published table in the Linux kernel, drivers/hwmon/ntc_thermistor.c */
const KERNEL: readonly (readonly [number, number])[] = [
  [-10, 42576],
  [-5, 34001],
  [0, 27326],
  [5, 22096],
  [10, 17973],
  [15, 14703],
  [20, 12090],
  [25, 10000],
  [30, 8311],
  [35, 6941],
  [40, 5825],
  [45, 4911],
  [50, 4158],
  [60, 3019],
  [70, 2227],
  [85, 1451],
];
const kernelPoint = (degrees: number) => ({
  celsius: celsius(degrees),
  ohm: KERNEL.find(([at]) => at === degrees)![1],
});

/** degC and R/R25, beta 25/85 = 3977 K: "Sensor Temperature Resistance Curves, Reference Guide, Rev C, Nov 2014", type 1 */
const RATIOS: readonly (readonly [number, number])[] = [
  [-10, 5.525],
  [-5, 4.229],
  [0, 3.264],
  [5, 2.539],
  [10, 1.99],
  [15, 1.571],
  [20, 1.249],
  [25, 1],
  [30, 0.8056],
  [35, 0.653],
  [40, 0.5325],
  [45, 0.4367],
  [50, 0.3601],
  [85, 0.107],
];
/** The coefficients of the same guide. */
const RATIO_CURVE = { r25: 10_000, a: 3.3539438e-3, b: 2.5646095e-4, c: 2.5158166e-6, d: 1.0503069e-7 };

/** degC and ohm, 10K3 type: published probe manual, appendix C */
const ABSOLUTE: readonly (readonly [number, number])[] = [
  [-40, 336103.2],
  [-20, 97006.9],
  [-10, 55303.9],
  [-5, 42316.7],
  [0, 32650.9],
  [1, 31030.8],
];
/** The coefficients of the same manual. */
const ABSOLUTE_CURVE = { a: 1.12924e-3, b: 2.34108e-4, c: 0.87755e-7 };

describe('steinhartHartCelsius()', () => {
  it.each(ABSOLUTE)('reads %d degC at %d ohm by published coefficients', (degrees, ohm) =>
    expect(Math.abs(steinhartHartCelsius(ohm, ABSOLUTE_CURVE) - degrees)).toBeLessThan(0.003),
  );

  it('does not with a coefficient changed in its fourth place', () => {
    const wrong = { ...ABSOLUTE_CURVE, b: 2.345e-4 };
    expect(Math.abs(steinhartHartCelsius(32650.9, wrong))).toBeGreaterThan(0.1);
  });

  it('refuses a resistance that is none', () => {
    for (const ohm of [0, -1, Number.NaN])
      expect(() => steinhartHartCelsius(ohm, ABSOLUTE_CURVE)).toThrow(RangeError);
  });
});

describe('steinhartHartThrough()', () => {
  const curve = steinhartHartThrough([kernelPoint(0), kernelPoint(25), kernelPoint(50)]);

  it('fits a published table at 0, 25 and 50 degC to 0.007 degC in between', () => {
    for (const [degrees, ohm] of KERNEL.filter(([degrees]) => degrees >= 0 && degrees <= 50))
      expect(Math.abs(steinhartHartCelsius(ohm, curve) - degrees)).toBeLessThanOrEqual(0.007);
    expect(Math.abs(steinhartHartCelsius(1451, curve) - 85)).toBeGreaterThan(0.007);
  });

  it('gives the coefficients of a worked example', () => {
    // 27.219, 14.674 and 10.0 kOhm at 0, 15 and 25 degC: points published in an open-source home-automation manual;
    // coefficients computed from them here by the closed form, no published source
    const example = steinhartHartThrough([
      { celsius: celsius(0), ohm: 27219 },
      { celsius: celsius(15), ohm: 14674 },
      { celsius: celsius(25), ohm: 10000 },
    ]);
    expect(example.a).toBeCloseTo(8.407919494e-4, 12);
    expect(example.b).toBeCloseTo(2.584565345e-4, 12);
    expect(example.c).toBeCloseTo(1.69907864e-7, 15);
  });

  it('refuses points of one resistance', () => {
    expect(() => steinhartHartThrough([kernelPoint(0), kernelPoint(0), kernelPoint(50)])).toThrow(RangeError);
  });
});

describe('ratioCelsius()', () => {
  it.each(RATIOS)('reads %d degC at a ratio of %d by published coefficients', (degrees, ratio) =>
    expect(Math.abs(ratioCelsius(ratio * 10_000, RATIO_CURVE) - degrees)).toBeLessThan(0.0115),
  );
});

describe('the beta formula', () => {
  /** degC and ohm for beta 3950, 3435 and 3380: exact arithmetic of the formula, no source needed */
  it.each([
    [-10, 58245.7, 46290.2, 45168.3],
    [0, 33620.6, 28704.3, 28223.7],
    [10, 20174.6, 18410.4, 18231.4],
    [140 / 9, 15424.8, 14577.4, 14489.7],
    [20, 12535.3, 12171.4, 12133.2],
    [25, 10000, 10000, 10000],
    [30, 8037.1, 8269.4, 8294.6],
    [40, 5301.5, 5758.8, 5809.9],
    [50, 3588.2, 4101.2, 4160.1],
  ])('gives the resistance at %d degC, and the temperature back', (degrees, ...ohms) => {
    for (const [index, beta] of [3950, 3435, 3380].entries()) {
      const part = { r25: 10_000, beta };
      expect(betaOhm(celsius(degrees), part)).toBeCloseTo(ohms[index]!, 1);
      expect(betaCelsius(betaOhm(celsius(degrees), part), part)).toBeCloseTo(degrees, 9);
    }
  });

  it('has the betas of a published table', () => {
    // the table's own name for the part is B25/85 = 3435 K
    expect(betaBetween(kernelPoint(25), kernelPoint(85))).toBeCloseTo(3435.4, 1);
    // computed from the table, no published source
    expect(betaBetween(kernelPoint(25), kernelPoint(50))).toBeCloseTo(3382, 0);
    expect(betaBetween(kernelPoint(0), kernelPoint(25))).toBeCloseTo(3275, 0);
  });

  it('reads that table a third of a degree warm near 60 degF: too much for a cold limit', () => {
    // computed from the table, no published source
    const error = (degrees: number, beta: number) =>
      betaCelsius(kernelPoint(degrees).ohm, { r25: 10_000, beta }) - degrees;
    expect(error(15, 3435)).toBeCloseTo(0.35, 2);
    expect(error(0, 3435)).toBeCloseTo(1.07, 2);
    expect(error(50, 3435)).toBeCloseTo(-0.42, 2);
    expect(error(15, 3950)).toBeCloseTo(1.57, 2);
  });
});
