import type { Scenario } from '../emulator/scenario.js';
import { findScenario, SCENARIO_PLANS } from '../emulator/scenarios/index.js';
import { Refusal } from '../units/refusal.js';

/** The scenario a person named. */
export function scenarioNamed(name: string): Scenario {
  const scenario = findScenario(name);
  if (scenario === null)
    throw new Refusal(
      `There is no scenario ${name}; choose ${SCENARIO_PLANS.map((plan) => plan.name).join(' or ')}.`,
    );
  return scenario;
}

const SPEED_MAX = 10_000;

/** How many times faster than real: a number, or `max`, which is Infinity. */
export function speedOf(text: string): number {
  if (text === 'max') return Number.POSITIVE_INFINITY;
  const speed = /^\d+(\.\d+)?$/.test(text) ? Number(text) : 0;
  if (speed < 1 || speed > SPEED_MAX)
    throw new Refusal(`--speed ${text} is not a speed; write a number from 1 to ${SPEED_MAX}, or max.`);
  return speed;
}
