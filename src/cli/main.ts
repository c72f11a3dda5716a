import { Command, CommanderError } from 'commander';
import { installedVersion } from '../units/installed.js';
import { Refusal } from '../units/refusal.js';
import { CheckFailed } from './checkFailed.js';
import { COMMANDS } from './commands.js';
import type { Context } from './context.js';

/** Exit codes of every command. */
export const EXIT = { done: 0, refused: 1, usage: 2, failed: 3 } as const;

/** Runs one command line (without the program's name) and gives its exit code. */
export async function main(args: readonly string[], context: Context): Promise<number> {
  try {
    const program = await programFor(args, context);
    await program.parseAsync(args, { from: 'user' });
    return EXIT.done;
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? EXIT.done : EXIT.usage;
    if (error instanceof Refusal) {
      context.io.err(error.message);
      return EXIT.refused;
    }
    if (error instanceof CheckFailed) {
      context.io.err(error.message);
      return EXIT.failed;
    }
    throw error;
  }
}

/** The command line: all commands by name, and in full the one that is called or asked about. */
async function programFor(args: readonly string[], context: Context): Promise<Command> {
  const program = new Command('stillwarm')
    .description('Logs the temperature of assay cups, rules cold ones out, and says what the rest show.')
    .configureOutput({ writeOut: context.io.out, writeErr: context.io.err })
    .version(installedVersion(), '--version', 'print the version')
    .exitOverride()
    .showHelpAfterError('(--help lists commands and options)');
  const called = args[0] === 'help' ? args[1] : args[0];
  for (const { name, summary, load } of COMMANDS) {
    const command = program.command(name).description(summary);
    if (name === called) (await load()).define(command, context);
  }
  return program;
}
