import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { judgeExposure } from '../../src/exposure/judge.js';
import { orderedRulings } from '../../src/exposure/orderedRulings.js';
import type { Observation } from '../../src/exposure/types.js';
import { minutes } from '../../src/units/time.js';
import { anyCase, lookUp, RULES } from './cases.js';
import { ROUND } from './judgeRound.js';
import { at, exposure, from, seating, steady, trace } from './traces.js';

const of = (exposures: Parameters<typeof orderedRulings>[0][number]['exposure'][], rules = ROUND) =>
  orderedRulings(exposures.map((exposure) => ({ exposure, rules })));

const feed = (rulings: ReturnType<typeof orderedRulings>, probe: string, readings: readonly Observation[]) =>
  readings.map(({ at, celsius }) => rulings.feedOf(probe).take(at, celsius));

describe('orderedRulings()', () => {
  it('rules as judgeExposure() to the last bit, whichever probe comes first, cups sharing probes', () => {
    fc.assert(
      fc.property(
        fc.array(anyCase, { minLength: 1, maxLength: 3 }),
        fc.constantFrom(['P', 'Q'], ['Q', 'P']),
        fc.constantFrom(0, 2),
        (several, order, precision) => {
          const readings = lookUp(several[0]!.readings);
          const cases = several.map(({ exposure }) => ({
            exposure: { ...exposure, precision: { load: minutes(precision), turn: minutes(0) } },
            rules: RULES,
          }));
          const rulings = orderedRulings(cases);
          for (const probe of order)
            if (rulings.probes.includes(probe)) feed(rulings, probe, readings(probe));
          expect(rulings.rulings()).toEqual(
            cases.map(({ exposure, rules }) => judgeExposure(exposure, readings, rules)),
          );
        },
      ),
      { numRuns: 200, seed: 1 },
    );
  });

  it('differs when a reading that matters is kept from it', () => {
    const readings = [...steady(0, 90, 20), ...trace([90.5, 12]), ...steady(91, 180, 20)];
    const rulings = of([exposure(180)]);
    feed(
      rulings,
      'P',
      readings.filter(({ celsius }) => celsius !== 12),
    );
    expect(rulings.rulings()).not.toEqual([judgeExposure(exposure(180), from(readings), ROUND)]);
  });

  it('tells what became of each reading', () => {
    const rulings = of([exposure(60, { seatings: [seating('P', 10, 20), seating('P', 30, 40)] })]);
    const readings = trace(
      [9, 1],
      [10, 1],
      [10, 1],
      [10, 2],
      [25, 1],
      [20, 1],
      [24, 1],
      [40, 1],
      [41, 1],
      [35, 1],
    );
    expect(feed(rulings, 'P', readings)).toEqual([
      'outside',
      'used',
      'used',
      'conflict',
      'outside',
      'late', // at 20 a cup sat, but 25 was seen
      'outside',
      'used',
      'outside',
      'late',
    ]);
    expect(rulings.feedOf('P').covers(at(30))).toBe(true);
    expect(rulings.feedOf('P').covers(at(25))).toBe(false);
    expect(() => rulings.feedOf('Q')).toThrow('no exposure has the probe Q');
  });

  it('serves thousands of seatings of one probe, end to end', () => {
    const cups = Array.from({ length: 3000 }, (_, index) =>
      exposure(10, {
        cup: `C-${index}`,
        load: at(10 * index),
        turn: at(10 * index + 10),
        seatings: [seating('P', 10 * index, 10 * index + 10)],
      }),
    );
    const rulings = of(cups);
    feed(rulings, 'P', steady(0, 30_000, 20, 60));
    expect(rulings.rulings().every(({ observedMinutes }) => observedMinutes === 10)).toBe(true);
  });

  it('refuses what judgeExposure() refuses', () => {
    expect(() => of([exposure(-1)])).toThrow(/turned at .* before it is loaded/);
    expect(() => of([exposure(9, { seatings: [seating('P', 0, 5), seating('Q', 4, 9)] })])).toThrow(
      /sits in two slots at once/,
    );
  });
});
