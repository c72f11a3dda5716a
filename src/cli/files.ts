import type { Command } from 'commander';
import { Refusal } from '../units/refusal.js';
import type { Context } from './context.js';
import { runEfficacy } from './efficacy.js';
import { runJudge } from './judge.js';

/** The commands that work on CSV files alone, without a store. */
export function addJudge(program: Command, { io }: Context): void {
  program
    .command('judge')
    .description('rule on exposures from CSV files')
    .requiredOption('--readings <file>', 'probe,time,celsius[,flag]')
    .requiredOption('--exposures <file>', 'cup,probe,load,turn[,from,to][,uncertainty]')
    .option('--rules <file>', 'a rule set; it names what it changes')
    .option('--json', 'print JSON')
    .action((options: { readings: string; exposures: string; rules?: string; json?: true }) =>
      runJudge({ ...options, json: options.json === true }, io),
    );
}

export function addEfficacy(program: Command, { io }: Context): void {
  program
    .command('efficacy')
    .description('efficacy and infestation of yards from a CSV file of counts')
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
