import type { UtcMs } from '../../units/time.js';
import type { Scenario } from '../scenario.js';
import { BENCH_PLANS, bench } from './bench.js';
import { COLD_MORNING } from './coldMorning.js';
import { type MorningPlan, morning } from './morning.js';
import { PRACTICE } from './practice.js';
import { WARM_DAY } from './warmDay.js';

/** Every morning that runs by itself from load to count, in the order they are offered; making one takes some tens of milliseconds. */
export const SCENARIO_PLANS: readonly MorningPlan[] = [COLD_MORNING, WARM_DAY];

/** The mornings there are to be played: those with visits, and the one that people take over. */
export const MORNING_PLANS: readonly MorningPlan[] = [...SCENARIO_PLANS, PRACTICE];

/** The names of every scenario: the mornings, then what is done on a bench. */
export const SCENARIO_NAMES: readonly string[] = [...MORNING_PLANS, ...BENCH_PLANS].map(({ name }) => name);

/**
 * Makes the scenario of that name, the same at every call; null when there is none.
 *
 * @param start when a bench begins, its own evening when left out; a morning keeps its own time
 */
export function findScenario(name: string, start?: UtcMs): Scenario | null {
  const plan = MORNING_PLANS.find((candidate) => candidate.name === name);
  if (plan) return morning(plan);
  const onBench = BENCH_PLANS.find((candidate) => candidate.name === name);
  return onBench ? bench(onBench, start) : null;
}
