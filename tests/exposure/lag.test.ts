import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fitLag, LAG_STEP_MIN, type Lag } from '../../src/exposure/lag.js';
import type { Observation } from '../../src/exposure/types.js';
import { seededChance } from '../../src/units/clock.js';
import { Refusal } from '../../src/units/refusal.js';
import { stepReadings } from './steps.js';

/** What the first scan gives at which the fit is accepted, as `probe lag` stops; null when none is. */
function firstAccepted(readings: readonly Observation[]): Lag | null {
  for (let count = 10; count <= readings.length; count += 1)
    try {
      return fitLag(readings.slice(0, count));
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
    }
  return null;
}

const clean = (tauSeconds: number, from = 33, to = 20) =>
  stepReadings({ from, to, tauSeconds, lastsSeconds: 5 * tauSeconds }, seededChance(1));

describe('fitLag()', () => {
  it('finds the time constant of any step, up or down, within 2 %', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 60, max: 600 }),
        fc.integer({ min: 10, max: 25 }),
        fc.integer({ min: 7, max: 20 }),
        fc.boolean(),
        fc.integer(),
        (tauSeconds, to, difference, isDown, seed) => {
          const from = isDown ? to + difference : to - difference;
          const fit = fitLag(
            stepReadings({ from, to, tauSeconds, lastsSeconds: 5 * tauSeconds }, seededChance(seed)),
          );
          expect(Math.abs(fit.tauSeconds / tauSeconds - 1)).toBeLessThan(0.02);
          expect(fit.lowSeconds).toBeLessThan(fit.tauSeconds);
          expect(fit.highSeconds).toBeGreaterThan(fit.tauSeconds);
          expect(Math.sign(fit.step)).toBe(isDown ? -1 : 1);
        },
      ),
      { numRuns: 60 },
    );
  });

  it('has the true time constant in its 95 % interval in about 95 % of noisy steps', () => {
    const chance = seededChance(17);
    const RUNS = 300;
    let inside = 0;
    for (let run = 0; run < RUNS; run += 1) {
      const tauSeconds = 60 + 340 * chance.uniform();
      const { lowSeconds, highSeconds } = fitLag(
        stepReadings(
          {
            from: 31 + 3 * chance.uniform(),
            to: 18 + 5 * chance.uniform(),
            tauSeconds,
            lastsSeconds: 4 * tauSeconds,
          },
          chance,
        ),
      );
      if (lowSeconds <= tauSeconds && tauSeconds <= highSeconds) inside += 1;
    }
    // Binomial: 95 % of 300 is 285, standard error 3.8; measured 281 (93.7 %).
    expect(inside / RUNS).toBeGreaterThan(0.91);
    expect(inside / RUNS).toBeLessThan(0.985);
  });

  it('would not have it there if the readings followed another time constant', () => {
    const { lowSeconds, highSeconds } = fitLag(clean(240));
    expect(lowSeconds).toBeLessThan(240);
    expect(highSeconds).toBeGreaterThan(240);
    const other = fitLag(clean(255));
    expect(other.lowSeconds).toBeGreaterThan(240);
  });

  it('is accepted as soon as three time constants have passed, and is right then', () => {
    const fit = firstAccepted(clean(240))!;
    expect(fit.readings * 10).toBeLessThan(3.4 * 240);
    expect(Math.abs(fit.tauSeconds / 240 - 1)).toBeLessThan(0.03);
  });

  it('refuses a step that is too small, and one that is not over', () => {
    expect(() => fitLag(clean(240, 20 + LAG_STEP_MIN - 0.2))).toThrow(
      /^the step is 4\.\d °C, at least 5 are needed; start from a warm hand/,
    );
    expect(() => fitLag(clean(240, 20 + LAG_STEP_MIN + 0.5))).not.toThrow();
    const early = clean(240).slice(0, 40);
    expect(() => fitLag(early)).toThrow(/too short for a time constant of about \d+ s; wait \d+ min more$/);
    expect(() => fitLag(clean(240, 40).slice(0, 20))).toThrow(/has \d+ readings, 15 are needed/);
    expect(() => fitLag([])).toThrow(/no reading/);
  });

  it('refuses what is no single step: a lid opened half-way, a hand that comes back', () => {
    const lid = stepReadings(
      { from: 33, to: (second) => (second < 400 ? 20 : 15), tauSeconds: 240, lastsSeconds: 1200 },
      seededChance(2),
    );
    expect(() => fitLag(lid)).toThrow(/off a single step/);
    const hand = stepReadings(
      {
        from: 33,
        to: (second) => (second > 300 && second < 400 ? 33 : 20),
        tauSeconds: 120,
        lastsSeconds: 1200,
      },
      seededChance(3),
    );
    expect(() => fitLag(hand)).toThrow(/off a single step/);
  });
});
