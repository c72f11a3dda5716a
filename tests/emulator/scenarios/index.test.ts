import { describe, expect, test } from 'vitest';
import { findScenario, MORNING_PLANS, SCENARIO_PLANS } from '../../../src/emulator/scenarios/index.js';

describe('findScenario()', () => {
  test('makes every scenario that is offered, by its name', () => {
    expect(SCENARIO_PLANS.map(({ name }) => name)).toEqual(['cold-morning', 'warm-day']);
    expect(MORNING_PLANS.map(({ name }) => name)).toEqual(['cold-morning', 'warm-day', 'practice']);
    for (const { name, summary } of MORNING_PLANS) {
      const scenario = findScenario(name);
      expect(scenario?.name).toBe(name);
      expect(scenario?.summary).toBe(summary);
    }
  });

  test('is null for a name that is not offered', () => {
    expect(findScenario('cold-mornin')).toBeNull();
    expect(findScenario('')).toBeNull();
  });
});
