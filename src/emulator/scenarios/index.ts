import type { Scenario } from '../scenario.js';
import { coldMorning } from './coldMorning.js';
import { warmDay } from './warmDay.js';

/** Makes every scenario there is, in the order they are offered. */
export const allScenarios = (): readonly Scenario[] => [coldMorning(), warmDay()];

/** The scenario of that name, or null when there is none. */
export const findScenario = (name: string): Scenario | null =>
  allScenarios().find((scenario) => scenario.name === name) ?? null;
