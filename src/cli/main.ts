import { CommanderError } from 'commander';
import { Refusal } from '../units/refusal.js';
import { AlreadySaid } from './alreadySaid.js';
import { CheckFailed } from './checkFailed.js';
import type { Context } from './context.js';
import { programFor } from './program.js';
import { WrongCommandLine } from './wrongCommandLine.js';

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
      await say(error.message, context);
      return error instanceof WrongCommandLine ? EXIT.usage : EXIT.refused;
    }
    if (error instanceof AlreadySaid) return EXIT.refused;
    if (error instanceof CheckFailed) {
      await say(error.message, context);
      return EXIT.failed;
    }
    throw error;
  }
}

/** What it came to, for people. Breaking lines is loaded only when it is needed. */
async function say(sentence: string, { io }: Context): Promise<void> {
  const { errSentence } = await import('./wrapped.js');
  errSentence(io, sentence);
}
