import fc from 'fast-check';
import { DEFAULT_RULES, type RuleSet } from '../../src/exposure/ruleSet.js';
import type { Exposure, Observation } from '../../src/exposure/types.js';
import { celsius, celsiusDifference } from '../../src/units/temperature.js';
import { durationMs, later } from '../../src/units/time.js';
import { exposure, LOAD } from './traces.js';

/** Limits scaled to exposures of some 40 minutes, so that every ruling turns up. */
export const RULES: RuleSet = {
  ...DEFAULT_RULES,
  coldTotalMinutes: 6,
  coldSpellMinutes: 3,
  hotSpellMinutes: 3,
  exposureMinutes: 40,
  exposureMinutesMin: 20,
  exposureMinutesMax: 60,
};

export interface Case {
  readonly exposure: Exposure;
  readonly readings: Record<string, readonly Observation[]>;
}

const SECOND = 1000;
export const instant = (second: number) => later(LOAD, durationMs(Math.round(second * SECOND)));

/** A wandering temperature read at uneven steps, some longer than a gap may be; sixteenths as a probe gives. */
const readingsFrom = (start: number, temper: number): fc.Arbitrary<Observation[]> =>
  fc
    .array(
      fc.record({
        step: fc.oneof(
          { weight: 60, arbitrary: fc.integer({ min: 15, max: 60 }) },
          { weight: 1, arbitrary: fc.integer({ min: 61, max: 240 }) },
        ),
        change: fc.integer({ min: -20, max: 20 }),
      }),
      { minLength: 50, maxLength: 110 },
    )
    .map((steps) => {
      let [second, sixteenths] = [start, temper * 16];
      return steps.map(({ step, change }) => {
        second += step;
        sixteenths = Math.min(50 * 16, Math.max(5 * 16, sixteenths + change));
        return { at: instant(second), celsius: celsius(sixteenths / 16) };
      });
    });

/** Exposures of one or two seatings with wandering temperatures and gaps. */
export const anyCase: fc.Arbitrary<Case> = fc
  .record({
    turn: fc.integer({ min: 18 * 60, max: 50 * 60 }),
    borders: fc.array(fc.integer({ min: -120, max: 3000 }), { minLength: 4, maxLength: 4 }),
    whole: fc.boolean(),
    uncertainty: fc.constantFrom(0, 0.25, 0.614, 0.858, 2),
    temper: fc.constantFrom(16, 17, 25, 30, 30, 39, 40),
  })
  .chain(({ turn, borders, whole, uncertainty, temper }) =>
    fc.record({ P: readingsFrom(-100, temper), Q: readingsFrom(-100, temper) }).map((readings) => {
      const [a = 0, b = 0, c = 0, d = 0] = borders.toSorted((x, y) => x - y);
      const u = celsiusDifference(uncertainty);
      const seatings = whole
        ? [{ probe: 'P', from: LOAD, to: instant(turn), uncertainty: u }]
        : [
            { probe: 'P', from: instant(a), to: instant(b), uncertainty: u },
            { probe: 'Q', from: instant(c), to: instant(d), uncertainty: u },
          ];
      return { exposure: exposure(turn / 60, { turn: instant(turn), seatings }), readings };
    }),
  );

/** Looks the readings of a case up by probe, each changed or left out. */
export const lookUp =
  (readings: Case['readings'], map: (reading: Observation) => Observation | null = (reading) => reading) =>
  (probe: string) =>
    (readings[probe] ?? []).map(map).filter((reading) => reading !== null);
