import type { UtcMs } from '../../units/time.js';
import type { Scenario } from '../scenario.js';
import { BENCH_PLANS, bench } from './bench.js';
import { COLD_MORNING } from './coldMorning.js';
import { type MorningPlan, morning } from './morning.js';
import { WARM_DAY } from './warmDay.js';

/** Every morning with visits there is, in the order they are offered; making one takes some tens of milliseconds. */
export const SCENARIO_PLANS: readonly MorningPlan[] = [COLD_MORNING, WARM_DAY];

/** The names of every scenario: the mornings, then what is done on a bench. */
export const SCENARIO_NAMES: readonly string[] = [...SCENARIO_PLANS, ...BENCH_PLANS].map(({ name }) => name);

/**
 * Makes the scenario of that name, the same at every call; null when there is none.
 *
 * @param start when a bench begins, its own evening when left out; a morning keeps its own time
 */
export function findScenario(name: string, start?: UtcMs): Scenario | null {
  const plan = SCENARIO_PLANS.find((candidate) => candidate.name === name);
  if (plan) return morning(plan);
  const onBench = BENCH_PLANS.find((candidate) => candidate.name === name);
  return onBench ? bench(onBench, start) : null;
}
