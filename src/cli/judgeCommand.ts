import type { Command } from 'commander';
import type { Context } from './context.js';
import { runJudge } from './judge.js';

/** The options of the command `judge`, which works on files alone, without a store. */
export function define(command: Command, { io }: Context): void {
  command
    .requiredOption('--readings <file>', 'probe,time,celsius[,flag]')
    .requiredOption('--exposures <file>', 'cup,probe,load,turn[,from,to][,uncertainty]')
    .option('--rules <file>', 'a rule set; it names what it changes')
    .option('--json', 'print JSON')
    .action((options: { readings: string; exposures: string; rules?: string; json?: true }) =>
      runJudge({ ...options, json: options.json === true }, io),
    );
}
