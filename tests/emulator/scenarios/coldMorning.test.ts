import { describe, expect, test } from 'vitest';
import { COLD_MORNING } from '../../../src/emulator/scenarios/coldMorning.js';
import { morning } from '../../../src/emulator/scenarios/morning.js';
import { DEFAULT_RULES } from '../../../src/exposure/ruleSet.js';
import { UNCORRECTED } from '../../../src/exposure/uncertainty.js';
import { later, seconds } from '../../../src/units/time.js';
import { actionsOn, cupsOf, playFlawlessly } from './flawless.js';

const scenario = morning(COLD_MORNING);
const outcome = playFlawlessly(scenario);
const COLD_SLOTS = COLD_MORNING.draughts.map(({ carrier, slot }) => `${carrier} ${slot}`);
/** What U allows for and the half degree by which a probe may be wrong: beyond it no reading can change a ruling. */
const MARGIN = UNCORRECTED + 0.5;

const firstPlace = (cup: ReturnType<typeof cupsOf>[number]): string => {
  const { seat } = actionsOn(scenario, cup);
  return `${seat.carrier} ${seat.slot}`;
};

/** Minutes of its exposure for which a cup's true air is below a limit. */
function minutesBelow(cup: ReturnType<typeof cupsOf>[number], degrees: number, run = scenario): number {
  const { load, turn } = actionsOn(run, cup);
  const vehicle = run.vehicle();
  let below = 0;
  for (let at = load.at; at < turn.at; at = later(at, seconds(10)))
    if (vehicle.cup(cup, at) < degrees) below += 1 / 6;
  return below;
}

describe('COLD_MORNING', () => {
  test('truly chills the cups of the draughty slots for long and by a clear margin, and no other', () => {
    for (const cup of cupsOf(scenario))
      if (COLD_SLOTS.includes(firstPlace(cup)))
        expect(minutesBelow(cup, DEFAULT_RULES.thresholdCelsius - MARGIN)).toBeGreaterThan(60);
      else expect(minutesBelow(cup, DEFAULT_RULES.thresholdCelsius + MARGIN)).toBe(0);
  });

  test('chills nothing when the heater stays on: the cold is of its making', () => {
    const heated = morning({ ...COLD_MORNING, heater: [[COLD_MORNING.from, COLD_MORNING.to, 24]] });
    for (const cup of cupsOf(heated))
      expect(minutesBelow(cup, DEFAULT_RULES.thresholdCelsius + MARGIN, heated)).toBe(0);
  });

  // 10 s with a host and 20 s alone: the carrier's two periods of scans
  test.each([10, 20])('is ruled cold, unproven and valid where it should be, read every %d s', (period) => {
    for (const { cup, ruling } of playFlawlessly(scenario, period).rulings) {
      const place = firstPlace(cup as ReturnType<typeof cupsOf>[number]);
      const expected = COLD_SLOTS.includes(place) ? 'cold' : place === 'A 6' ? 'unproven' : 'valid';
      expect(`${place} ${ruling}`).toBe(`${place} ${expected}`);
    }
  });

  test('is unproven only for want of readings: with a sound lead the cup is valid', () => {
    const sound = playFlawlessly(morning({ ...COLD_MORNING, looseLeads: [] }));
    expect(sound.rulings.filter(({ ruling }) => ruling === 'unproven')).toEqual([]);
  });

  test('makes the second yard look below the line as counted, and not once the cold cups are ruled out', () => {
    const yard = outcome.yards.find((entry) => entry.yard === 'sedge-12')!;
    expect(yard.allCups.verdict).toBe('below-line');
    expect(yard.verdict).toBe('above-line');
    expect(yard.cups).toMatchObject({ valid: 5, excluded: 4, unread: 0, empty: 0 });
    expect(yard.tray + yard.wash).toBeGreaterThanOrEqual(DEFAULT_RULES.minMites);
  });

  test('gives the first yard the same verdict with and without what was ruled out', () => {
    const yard = outcome.yards.find((entry) => entry.yard === 'alder-07')!;
    expect(yard.verdict).toBe('above-line');
    expect(yard.allCups.verdict).toBe('above-line');
    expect(yard.cups).toMatchObject({ valid: 8, excluded: 1 });
  });

  test('owes its verdicts to the cold, not to its seed: with the heater on no seed looks failed', () => {
    const seeds = [1, 2, 3, 4, 5, 6, 7, 8];
    const asCounted = (heater: typeof COLD_MORNING.heater) =>
      seeds.map((seed) => {
        const { yards } = playFlawlessly(morning({ ...COLD_MORNING, seed, heater }), 30);
        return yards.find((entry) => entry.yard === 'sedge-12')!;
      });
    const cold = asCounted(COLD_MORNING.heater);
    const warm = asCounted([[COLD_MORNING.from, COLD_MORNING.to, 24]]);
    seeds.forEach((_, i) => {
      expect(cold[i]!.allCups.efficacy!).toBeLessThan(DEFAULT_RULES.line);
      expect(cold[i]!.efficacy!).toBeGreaterThan(cold[i]!.allCups.efficacy!);
      expect(warm[i]!.allCups.efficacy!).toBeGreaterThan(DEFAULT_RULES.line);
      expect(warm[i]!.allCups.verdict).not.toBe('below-line');
    });
  });
});
