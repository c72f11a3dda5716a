import type { Command } from 'commander';
import { Refusal } from '../units/refusal.js';
import type { Context } from './context.js';
import { runEfficacy } from './efficacy.js';

/** The options of the command `efficacy`, which works on a file alone, without a store. */
export function define(command: Command, { io }: Context): void {
  command
    .requiredOption('--counts <file>', 'yard,cup,kind,tray,wash,bees[,arm][,colony][,group][,ruling]')
    .option('--line <share>', 'the efficacy a product must reach', '0.7')
    .option('--recovery <share>', 'what the wash finds: 0.95, or a first and a second wash as 637/47')
    .option('--json', 'print JSON')
    .action((options: { counts: string; line: string; recovery?: string; json?: true }) => {
      if (!/^\d*\.?\d+$/.test(options.line))
        throw new Refusal(`--line is ${options.line}; give a share between 0 and 1, as 0.7 for 70 %.`);
      return runEfficacy({ ...options, line: Number(options.line), json: options.json === true }, io);
    });
}
