import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  BATH,
  bathDifferences,
  CUPS,
  differences,
  MAP_PROBES_MIN,
  type Moment,
  placementMap,
} from '../../src/exposure/placement.js';
import { U_PROBE_ICE_CHECKED, U_PROBE_UNCORRECTED } from '../../src/exposure/uncertainty.js';
import { seededChance } from '../../src/units/clock.js';
import { celsiusDifference, fromSixteenths } from '../../src/units/temperature.js';
import { later, seconds } from '../../src/units/time.js';
import { LOAD } from './traces.js';

/** Scans every 10 s of probes that differ by fixed amounts from a level that may drift, with noise and rounding. */
function scans(
  lastsSeconds: number,
  apart: readonly number[],
  change: { level?: (second: number) => number; ripple?: number; seed?: number } = {},
): Moment[] {
  const { level = () => 18, ripple = 0, seed = 1 } = change;
  const chance = seededChance(seed);
  return Array.from({ length: lastsSeconds / 10 + 1 }, (_, index) => ({
    at: later(LOAD, seconds(10 * index)),
    celsius: new Map(
      apart.map((difference, probe) => {
        const wave = ripple * Math.sin((10 * index) / 15 + 2 * probe);
        const felt = level(10 * index) + difference + wave + 0.03 * (2 * chance.uniform() - 1);
        return [`p${probe}`, fromSixteenths(Math.round(felt * 16))];
      }),
    ),
  }));
}
const names = (count: number) => Array.from({ length: count }, (_, index) => `p${index}`);
const asBought = () => U_PROBE_UNCORRECTED;
const checked = () => U_PROBE_ICE_CHECKED;
const ERRORS = [0.2, -0.1, 0, 0.15, -0.25];

describe('placementMap()', () => {
  it('finds what the places do, whatever the probes read too much', () => {
    const errors = fc.array(fc.double({ min: -0.25, max: 0.25, noNaN: true }), {
      minLength: 6,
      maxLength: 6,
    });
    fc.assert(
      fc.property(errors, errors, fc.integer(), (probes, places, seed) => {
        const bath = bathDifferences(scans(200, probes, { seed }), names(6), asBought);
        const both = probes.map((error, index) => error + places[index]!);
        const map = placementMap(
          bath,
          differences(scans(700, both, { level: () => 22, seed: seed + 1 }), names(6), CUPS),
        );
        const mean = places.reduce((sum, each) => sum + each, 0) / 6;
        places.forEach((place, index) => {
          expect(Math.abs(map.places.get(`p${index}`)! - (place - mean))).toBeLessThan(0.05);
        });
      }),
      { numRuns: 40 },
    );
  });

  it('gives the uncertainty that its budget names', () => {
    const bath = { byProbe: new Map(names(3).map((p) => [p, celsiusDifference(0)])), level: 18 as never };
    const cups = {
      byProbe: new Map([-0.1, 0, 0.1].map((apart, index) => [`p${index}`, celsiusDifference(apart)])),
      level: 22 as never,
    };
    const { uncertainty, budget } = placementMap(bath, cups);
    // By hand: s = 0.1, n = 3, t(95.45 %, 2) = 4.53 (JCGM 100:2008, table G.2): 0.1 sqrt(4/3) 4.53/2 = 0.2615.
    expect(budget[0]!.standardUncertainty).toBeCloseTo(0.2615, 3);
    // By hand: sqrt(2) x 1/32 / sqrt(3), and 0.2 / sqrt(3) (JCGM 100:2008, 4.3.7).
    expect(budget[1]!.standardUncertainty).toBeCloseTo(0.02552, 4);
    expect(budget[2]!.standardUncertainty).toBeCloseTo(0.11547, 4);
    expect(uncertainty).toBeCloseTo(Math.hypot(0.2615, 0.02552, 0.11547), 3);
  });

  it('covers 95 % of further places drawn as these were, with k = 2', () => {
    const chance = seededChance(3);
    const normal = () =>
      Array.from({ length: 12 }, () => chance.uniform()).reduce((sum, each) => sum + each, -6);
    const zero = { byProbe: new Map(names(5).map((p) => [p, celsiusDifference(0)])), level: 18 as never };
    let inside = 0;
    const RUNS = 2000;
    for (let run = 0; run < RUNS; run += 1) {
      const drawn = names(5).map((name) => [name, 0.3 * normal()] as const);
      const mean = drawn.reduce((sum, [, each]) => sum + each, 0) / 5;
      const byProbe = new Map(drawn.map(([name, each]) => [name, celsiusDifference(each - mean)]));
      const u = placementMap(zero, { byProbe, level: 22 as never }).budget[0]!.standardUncertainty;
      if (Math.abs(0.3 * normal() - mean) <= 2 * u) inside += 1;
    }
    // Binomial standard error 0.5 %.
    expect(inside / RUNS).toBeGreaterThan(0.94);
    expect(inside / RUNS).toBeLessThan(0.97);
  });

  it('needs three probes', () => {
    const two = differences(scans(200, [0, 0]), names(2), BATH);
    expect(() => placementMap(two, two)).toThrow(`at least ${MAP_PROBES_MIN} probes, there are 2`);
  });
});

describe('bathDifferences()', () => {
  it('refuses a bath that drifts, and takes one that hardly does', () => {
    const drift = (perMinute: number) =>
      scans(200, ERRORS, { level: (second) => 18 + (perMinute * second) / 60 });
    expect(() => bathDifferences(drift(0.3), names(5), asBought)).toThrow(
      /drifts by 0\.(29|3\d) °C a minute, 0\.1 is allowed; stir/,
    );
    expect(() => bathDifferences(drift(0.06), names(5), asBought)).not.toThrow();
  });

  it('refuses a bath that nobody stirs: layers that move', () => {
    expect(() => bathDifferences(scans(200, ERRORS, { ripple: 0.2 }), names(5), asBought)).toThrow(
      /moves against the others by 0\.1\d °C/,
    );
  });

  it('refuses a probe that lies apart further than it is known: layers that stand, or a wrong offset', () => {
    const apart = [0, 0, 0, 0, 0.6];
    expect(() => bathDifferences(scans(200, apart), names(5), asBought)).not.toThrow();
    expect(() => bathDifferences(scans(200, apart), names(5), checked)).toThrow(
      /^p4 reads 0\.4\d °C off the mean of all in one bath, 0\.31 is allowed/,
    );
  });

  it('leaves out scans without all probes, and says when there are too few', () => {
    const some = scans(200, ERRORS).map(({ at, celsius }, index) => ({
      at,
      celsius: index % 2 === 0 ? celsius : new Map([...celsius].slice(1)),
    }));
    expect(() => bathDifferences(some, names(5), asBought)).toThrow(/there are \d scans of all 5 probes/);
    expect(() => bathDifferences([], names(5), asBought)).toThrow(/there are 0 scans/);
  });
});

describe('differences() in empty cups', () => {
  it('refuses a carrier that still warms', () => {
    const warming = scans(700, ERRORS, { level: (second) => 22 + second / 400 });
    expect(() => differences(warming, names(5), CUPS)).toThrow(/drifts by 0\.15 °C a minute/);
    expect(() => differences(scans(500, ERRORS), names(5), CUPS)).toThrow(/over 10 min are needed/);
  });
});
