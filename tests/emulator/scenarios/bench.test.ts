import { describe, expect, it } from 'vitest';
import { BENCH_PLANS } from '../../../src/emulator/scenarios/bench.js';
import { findScenario, SCENARIO_NAMES } from '../../../src/emulator/scenarios/index.js';
import { later, minutes } from '../../../src/units/time.js';

describe.each(BENCH_PLANS.map(({ name }) => name))('the bench %s', (name) => {
  const scenario = findScenario(name)!;

  it('has carrier A with the probes of the mornings, nobody who handles cups, and ends after its moves', () => {
    expect(SCENARIO_NAMES).toContain(name);
    expect(scenario.crew).toEqual([]);
    expect(scenario.carriers[0]!.slots).toEqual(findScenario('cold-morning')!.carriers[0]!.slots);
    const plan = BENCH_PLANS.find((each) => each.name === name)!;
    expect(plan.moves.every(({ minute }) => minute < plan.minutes)).toBe(true);
    expect(scenario.end).toBe(later(scenario.start, minutes(plan.minutes)));
  });

  it('is the same whenever it begins, only later', () => {
    const shift = minutes(90);
    const moved = findScenario(name, later(scenario.start, shift))!;
    const { rom } = scenario.carriers[0]!.slots[2]!;
    const [here, there] = [scenario.vehicle(), moved.vehicle()];
    for (const minute of [0, 2, 5]) {
      const at = later(scenario.start, minutes(minute));
      // Noise depends on the second, at most 0.03 degC either way.
      expect(Math.abs(here.probe(rom, at) - there.probe(rom, later(at, shift)))).toBeLessThan(0.061);
    }
  });
});
