import type { Scenario } from '../emulator/scenario.js';
import { BENCH_PLANS } from '../emulator/scenarios/bench.js';
import { findScenario, MORNING_PLANS, SCENARIO_NAMES } from '../emulator/scenarios/index.js';
import { Refusal } from '../units/refusal.js';
import { MS_PER_MINUTE, type UtcMs, utcMs } from '../units/time.js';

/** The scenario a person named. */
export function scenarioNamed(name: string, start?: UtcMs): Scenario {
  const scenario = findScenario(name, start);
  if (scenario === null) throw new Refusal(`There is no scenario ${name}; choose ${listed(SCENARIO_NAMES)}.`);
  return scenario;
}

/** The same, a bench moved behind what a store has read already: no two readings of a probe at one time. */
export function scenarioBehind(name: string, newest: UtcMs | null): Scenario {
  const plan = scenarioNamed(name);
  if (newest === null || newest < plan.start) return plan;
  return scenarioNamed(name, utcMs((Math.floor(newest / MS_PER_MINUTE) + 2) * MS_PER_MINUTE));
}

/** The morning with visits a person named. */
export function morningNamed(name: string): Scenario {
  const names = MORNING_PLANS.map((plan) => plan.name);
  if (names.includes(name)) return scenarioNamed(name);
  throw new Refusal(
    SCENARIO_NAMES.includes(name)
      ? `${name} is a bench without cups; choose ${listed(names)}, or give it to a probe command with --emulate.`
      : `There is no scenario ${name}; choose ${listed(names)}.`,
  );
}

/** Refuses a name that is no bench. */
export function refuseUnlessBench(name: string): void {
  const names = BENCH_PLANS.map((plan) => plan.name);
  if (!names.includes(name))
    throw new Refusal(`There is no bench ${name} to emulate; choose ${listed(names)}.`);
}

const listed = (names: readonly string[]): string =>
  [names.slice(0, -1).join(', '), names.at(-1)].filter(Boolean).join(' or ');

const SPEED_MAX = 10_000;

/** How many times faster than real: a number, or `max`, which is Infinity. */
export function speedOf(text: string): number {
  if (text === 'max') return Number.POSITIVE_INFINITY;
  const speed = /^\d+(\.\d+)?$/.test(text) ? Number(text) : 0;
  if (speed < 1 || speed > SPEED_MAX)
    throw new Refusal(`--speed ${text} is not a speed; write a number from 1 to ${SPEED_MAX}, or max.`);
  return speed;
}
