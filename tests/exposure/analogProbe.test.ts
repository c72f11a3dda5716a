import { describe, expect, it } from 'vitest';
import {
  type AnalogProbe,
  analogCelsius,
  analogUncertainty,
  shareOf,
  type Thermistor,
} from '../../src/exposure/analogProbe.js';

const TMP36: AnalogProbe = { part: 'TMP36', referenceVolts: 5, referencePercent: 0 };
const LM35: AnalogProbe = { part: 'LM35', referenceVolts: 5, referencePercent: 0 };
/** Fitted to a published R-T table (B25/85 = 3435 K part, hwmon driver ntc_thermistor of the Linux kernel) at 0, 25 and 50 degC. */
const curve = { a: 8.802056817e-4, b: 2.528678842e-4, c: 1.853428869e-7 };
const THERMISTOR: Thermistor = {
  part: 'thermistor',
  curve,
  seriesOhm: 10_000,
  side: 'ground',
  thermistorPercent: 0,
  seriesPercent: 0,
};

describe('analogCelsius()', () => {
  it.each([
    // datasheets: TMP36 750 mV at 25 degC and 500 mV at 0; LM35 10 mV a degree from 0
    [TMP36, 0.75 / 5, 25],
    [TMP36, 0.5 / 5, 0],
    [TMP36, 0.4 / 5, -10],
    [LM35, 0.25 / 5, 25],
    [LM35, 0.155 / 5, 15.5],
  ] as const)('reads a part by its datasheet', (probe, share, degrees) => {
    expect(analogCelsius(probe, share)).toBeCloseTo(degrees, 9);
  });

  it.each([
    // counts of a 10 bit converter, N = 1024, thermistor to ground, from the same published table: computed by hand from R/(R+10k)
    [749.66, 0],
    [657.91, 10],
    [512, 25],
    [376.94, 40],
  ])('reads a thermistor at %s of 1024 as %s degC', (count, degrees) => {
    expect(analogCelsius(THERMISTOR, count / 1024)).toBeCloseTo(degrees, 1);
    const other: Thermistor = { ...THERMISTOR, side: 'supply' };
    expect(analogCelsius(other, 1 - count / 1024)).toBeCloseTo(degrees, 1);
  });
});

describe('shareOf()', () => {
  it('takes the middle of a step', () => {
    expect(shareOf(0, 10)).toBe(0.5 / 1024);
    expect(shareOf(1023, 10)).toBe(1023.5 / 1024);
  });
});

describe('analogUncertainty()', () => {
  /** By hand: part, reference, converter 2 steps, drift, self-heating (each /sqrt 3), step/sqrt 12, a sixteenth/sqrt 12. */
  const byHand = (step: number, ...halves: number[]) =>
    Math.hypot(
      ...[...halves, 2 * step, 0.1, 0.1].map((half) => half / Math.sqrt(3)),
      step / Math.sqrt(12),
      0.0625 / Math.sqrt(12),
    );

  it('adds up what a TMP36 leaves open on 10 bit at 5 V', () => {
    // 4.883 mV a step are 0.488 degC
    expect(analogUncertainty(TMP36, 10)).toBeCloseTo(byHand(0.48828, 2), 4);
    // 5 % of (0.5 V + 40 degC x 10 mV) are 4.5 degC
    expect(analogUncertainty({ ...TMP36, referencePercent: 5 }, 10)).toBeCloseTo(byHand(0.48828, 2, 4.5), 4);
  });

  it('adds up what an LM35 leaves open, where the reference counts for less', () => {
    // 5 % of 40 degC x 10 mV are 2 degC
    expect(analogUncertainty({ ...LM35, referencePercent: 5 }, 10)).toBeCloseTo(byHand(0.48828, 1.5, 2), 4);
  });

  it('lets the step shrink with the converter', () => {
    expect(analogUncertainty(LM35, 12)).toBeCloseTo(byHand(0.48828 / 4, 1.5), 4);
  });

  it('turns per cent of resistors into degrees at the worst temperature', () => {
    // R falls by 3.46 % a degree around 40 degC, by 3.9 % around 15 (published table: ln(6941/4911)/10, ln(17973/12090)/10)
    const one = analogUncertainty({ ...THERMISTOR, thermistorPercent: 5 }, 16);
    expect(one).toBeGreaterThan(0.05 / 0.036 / Math.sqrt(3));
    expect(one).toBeLessThan(0.05 / 0.031 / Math.sqrt(3));
    const exact = analogUncertainty(THERMISTOR, 16);
    expect(exact).toBeCloseTo(Math.hypot(0.1 / Math.sqrt(3), 0.1 / Math.sqrt(3), 0.0625 / Math.sqrt(12)), 2);
  });

  it('is near 0.1 degC a step for a ratiometric thermistor on 10 bit', () => {
    // 0.102 to 0.121 degC a step at 15.6 to 40 degC: computed from the same table
    const step = Math.sqrt(
      (analogUncertainty(THERMISTOR, 10) ** 2 - 2 * (0.01 / 3) - 0.0625 ** 2 / 12) / (4 / 3 + 1 / 12),
    );
    expect(step).toBeGreaterThan(0.115);
    expect(step).toBeLessThan(0.127);
  });
});
