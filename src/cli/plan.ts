import type { Command } from 'commander';
import type { Context } from './context.js';
import { defineChance } from './plan/planChance.js';
import { defineDay } from './plan/planDay.js';
import { definePrint } from './plan/planPrint.js';

/** The command `plan`: the evening before. */
export function define(plan: Command, context: Context): void {
  defineChance(plan, context);
  defineDay(plan, context);
  definePrint(plan, context);
}
