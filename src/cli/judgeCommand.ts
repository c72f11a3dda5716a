import type { Command } from 'commander';
import type { Context } from './context.js';
import { type JudgeOptions, runJudge } from './judging/judge.js';

/** The options of the command `judge`, which works on files alone, without a store. */
export function define(command: Command, { io }: Context): void {
  command
    .requiredOption('--readings <file>', 'probe,time,celsius[,flag]')
    .requiredOption('--exposures <file>', 'cup,probe,load,turn[,from,to][,uncertainty]')
    .option('--rules <file>', 'a rule set; it names what it changes')
    .option(
      '--threshold-sweep <range>',
      'what would change at other thresholds and with U = 0: 12..20 or 12..20/1',
    )
    .option('--json', 'print JSON')
    .action((options: Omit<JudgeOptions, 'json'> & { json?: true }) =>
      runJudge({ ...options, json: options.json === true }, io),
    );
}
