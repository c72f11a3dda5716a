import { Command, CommanderError } from 'commander';
import { Refusal } from '../units/refusal.js';
import type { Context } from './context.js';
import { addCup } from './cup.js';
import { addEfficacy, addJudge } from './files.js';
import { addLog } from './log.js';
import { addPlay } from './play.js';
import { addProbe } from './probe.js';
import { addVisit } from './visit.js';
import { addWatch } from './watch.js';

/** Exit codes of every command. */
export const EXIT = { done: 0, refused: 1, usage: 2 } as const;

/** Runs one command line (without the program's name) and gives its exit code. */
export async function main(args: readonly string[], context: Context): Promise<number> {
  try {
    await programFor(context).parseAsync(args, { from: 'user' });
    return EXIT.done;
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? EXIT.done : EXIT.usage;
    if (error instanceof Refusal) {
      context.io.err(error.message);
      return EXIT.refused;
    }
    throw error;
  }
}

/** The whole command line, described once; `--help` prints it. */
export function programFor(context: Context): Command {
  const program = new Command('stillwarm')
    .description('Logs the temperature of assay cups, rules cold ones out, and says what the rest show.')
    .configureOutput({ writeOut: context.io.out, writeErr: context.io.err })
    .exitOverride()
    .showHelpAfterError('(--help lists commands and options)');
  addPlay(program, context);
  addWatch(program, context);
  addLog(program, context);
  addVisit(program, context);
  addCup(program, context);
  addProbe(program, context);
  addJudge(program, context);
  addEfficacy(program, context);
  return program;
}
