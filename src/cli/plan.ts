import type { Command } from 'commander';
import type { Context } from './context.js';
import { defineChance } from './plan/planChance.js';

/** The command `plan`: the evening before. */
export function define(plan: Command, context: Context): void {
  defineChance(plan, context);
}
