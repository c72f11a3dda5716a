import { Command } from 'commander';
import { installedVersion } from '../units/installed.js';
import { COMMANDS } from './commands.js';
import type { Context } from './context.js';

/**
 * The command line: all commands by name, and in full the one that is called or asked about.
 *
 * @param args the command line without the program's name
 */
export async function programFor(args: readonly string[], context: Context): Promise<Command> {
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
