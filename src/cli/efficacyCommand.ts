import type { Command } from 'commander';
import { Refusal } from '../units/refusal.js';
import type { Context } from './context.js';
import { runEfficacy } from './judging/efficacy.js';

/** The options of the command `efficacy`, which works on a file alone, without a store. */
export function define(command: Command, { io }: Context): void {
  command
    .requiredOption('--counts <file>', 'yard,cup,kind,tray,wash,bees[,arm][,colony][,group][,ruling]')
    .option('--line <share>', 'the efficacy a product must reach', '0.7')
    .option('--recovery <share>', 'what the wash finds: 0.95, or a first and a second wash as 637/47')
    .option('--looks <number>', 'how often the results are looked at in all; looks share the 5 %', '1')
    .option('--json', 'print JSON')
    .action((options: { counts: string; line: string; recovery?: string; looks: string; json?: true }) => {
      if (!/^\d*\.?\d+$/.test(options.line))
        throw new Refusal(`--line is ${options.line}; give a share between 0 and 1, as 0.7 for 70 %.`);
      if (!/^\d+$/.test(options.looks))
        throw new Refusal(`--looks is ${options.looks}; give a whole number, as 2.`);
      const numbers = { line: Number(options.line), looks: Number(options.looks) };
      return runEfficacy({ ...options, ...numbers, json: options.json === true }, io);
    });
}
