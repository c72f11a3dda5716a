import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { iceProgress } from '../../src/exposure/iceBath.js';
import type { Observation } from '../../src/exposure/types.js';
import { seededChance } from '../../src/units/clock.js';
import { fromSixteenths } from '../../src/units/temperature.js';
import { later, seconds } from '../../src/units/time.js';
import { LOAD } from './traces.js';

/** A probe read every 10 s, its temperature by the second. */
const read = (lastsSeconds: number, at: (second: number) => number, seed = 1): Observation[] => {
  const chance = seededChance(seed);
  return Array.from({ length: Math.floor(lastsSeconds / 10) + 1 }, (_, index) => ({
    at: later(LOAD, seconds(10 * index)),
    celsius: fromSixteenths(Math.round((at(10 * index) + 0.03 * (2 * chance.uniform() - 1)) * 16)),
  }));
};
/** Into ice water after a minute in the room; in water a probe follows within half a minute. */
const dipped = (offset: number) => (second: number) =>
  offset + (second < 60 ? 20 : 20 * Math.exp(-(second - 60) / 20));

describe('iceProgress()', () => {
  it('goes from outside over settling and measuring to steady', () => {
    const states = [30, 100, 300, 460].map((seconds_) => iceProgress(read(seconds_, dipped(0.2))).state);
    expect(states).toEqual(['outside', 'settling', 'measuring', 'steady']);
    expect(iceProgress([]).why).toBe('no reading yet');
    expect(iceProgress(read(100, dipped(0.2))).why).toMatch(/^it settles for \d+ s more$/);
    expect(iceProgress(read(300, dipped(0.2))).why).toMatch(/^\d+ of 20 readings$/);
  });

  it('finds any offset a good probe may have, to within a third of a sixteenth', () => {
    fc.assert(
      fc.property(fc.double({ min: -0.45, max: 0.45, noNaN: true }), fc.integer(), (offset, seed) => {
        const { check } = iceProgress(read(500, dipped(offset), seed));
        expect(Math.abs(check!.offset - offset)).toBeLessThan(0.025);
        expect(check!.uncertainty).toBeLessThan(0.105);
      }),
    );
  });

  it('begins anew when the probe was taken out', () => {
    const out = (second: number) => (second > 300 && second < 330 ? 15 : dipped(0)(second));
    expect(iceProgress(read(460, out)).state).toBe('settling');
  });

  it('refuses a bath that drifts, or that nobody stirs', () => {
    const drifting = iceProgress(read(600, (second) => dipped(0)(second) + Math.max(0, second - 240) / 1000));
    expect(drifting).toMatchObject({ state: 'unsteady', check: null });
    expect(drifting.why).toMatch(/^the ice check wanders by 0\.\d+ °C .* stir/);
    const layers = iceProgress(read(600, (second) => dipped(0)(second) + 0.15 * Math.sin(second / 25)));
    expect(layers.state).toBe('unsteady');
  });

  it('refuses a probe that no good one can be, and one that is not in ice at all', () => {
    expect(iceProgress(read(600, dipped(0.8)))).toMatchObject({ state: 'implausible', check: null });
    expect(iceProgress(read(600, dipped(-0.8))).why).toMatch(/^the probe reads -0\.(79|8\d) °C in ice/);
    expect(iceProgress(read(600, () => 18)).state).toBe('outside');
  });
});
