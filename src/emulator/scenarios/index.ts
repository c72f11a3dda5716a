import type { Scenario } from '../scenario.js';
import { COLD_MORNING } from './coldMorning.js';
import { type MorningPlan, morning } from './morning.js';
import { WARM_DAY } from './warmDay.js';

/** Every scenario there is, in the order they are offered; making one takes some tens of milliseconds. */
export const SCENARIO_PLANS: readonly MorningPlan[] = [COLD_MORNING, WARM_DAY];

/** Makes the scenario of that name, the same at every call; null when there is none. */
export function findScenario(name: string): Scenario | null {
  const plan = SCENARIO_PLANS.find((candidate) => candidate.name === name);
  return plan ? morning(plan) : null;
}
