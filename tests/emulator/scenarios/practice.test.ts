import { describe, expect, it } from 'vitest';
import { probeIn } from '../../../src/emulator/scenarios/carriers.js';
import { morning } from '../../../src/emulator/scenarios/morning.js';
import { PRACTICE } from '../../../src/emulator/scenarios/practice.js';
import { DEFAULT_RULES } from '../../../src/exposure/ruleSet.js';
import { UNCORRECTED } from '../../../src/exposure/uncertainty.js';
import { later, minutes } from '../../../src/units/time.js';

const scenario = morning(PRACTICE);
const handover = scenario.handover!;
const vehicle = scenario.vehicle();
/** What the probe of a slot reads so many minutes after the handover. */
const read = (carrier: 'A' | 'B', slot: number, minute: number) =>
  vehicle.probe(probeIn(carrier, slot), later(handover, minutes(minute)));
const did = (does: string, from = scenario) => from.crew.filter((action) => action.does === does);

describe('PRACTICE', () => {
  it('leaves all that comes after the handover to people', () => {
    expect(scenario.crew.every(({ at }) => at < handover)).toBe(true);
    expect([did('turn'), did('count'), did('close-visit')]).toEqual([[], [], []]);
    // Negative control: without a handover the crew of the scenario does it.
    const { handover: _none, ...alone } = PRACTICE;
    expect(did('turn', morning(alone))).toHaveLength(13);
  });

  it('has cups due every two minutes from then on, and free slots', () => {
    const due = did('load')
      .slice(0, 7)
      .map(({ at }) => (at + DEFAULT_RULES.exposureMinutes * 60_000 - handover) / 60_000);
    expect(due).toEqual([2, 4, 6, 8, 10, 12, 14]);
    // Of ten slots each: plain arithmetic.
    expect(20 - did('seat').length).toBe(7);
  });

  it('has one cup that is too cold already, one that will be, and none else', () => {
    const { thresholdCelsius, coldSpellMinutes } = DEFAULT_RULES;
    expect(read('B', 1, -coldSpellMinutes - 1)).toBeLessThan(thresholdCelsius - UNCORRECTED);
    expect(read('B', 2, 0)).toBeGreaterThan(thresholdCelsius + UNCORRECTED);
    expect(read('B', 2, 15)).toBeLessThan(thresholdCelsius);
    for (const minute of [0, 10, 20, 60, 120]) {
      for (const slot of [1, 2, 3, 4, 5, 6, 7])
        expect(read('A', slot, minute)).toBeGreaterThan(thresholdCelsius + UNCORRECTED);
      for (const slot of [3, 4, 5, 6])
        expect(read('B', slot, minute)).toBeGreaterThan(thresholdCelsius + UNCORRECTED);
    }
  });

  it('leaves half an hour from its load on in which the first can be refilled', () => {
    const load = did('load')[7]!;
    // REFILL_MINUTES of exposure/live.ts
    expect((load.at + 30 * 60_000 - handover) / 60_000).toBe(8);
  });
});
