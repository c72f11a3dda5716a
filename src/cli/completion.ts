import type { Command } from 'commander';
import { candidates, FILES } from './completion/candidates.js';
import { SHELLS } from './completion/shells.js';
import type { Context } from './context.js';
import { programFor } from './program.js';

/** The command `completion`: what makes a shell complete command lines of this program. */
export function define(completion: Command, context: Context): void {
  const { io } = context;
  for (const [shell, script] of Object.entries(SHELLS))
    completion
      .command(shell)
      .description(`print what makes ${shell} complete commands, options, visits and cups`)
      .action(() => io.out(script));

  completion
    .command('words [words...]', { hidden: true })
    .description('what may stand in place of the last word; the scripts of the shells ask this')
    .action(async (words: readonly string[]) => {
      const { storeNamed, storeWords } = await import('./completion/storeWords.js');
      const program = await programFor(words, context);
      const found = candidates(program, words, (kind) => storeWords(storeNamed(words), kind));
      if (found === FILES) io.out(`:${FILES}`);
      else for (const { text, about } of found) io.out(about === '' ? text : `${text}\t${about}`);
    });
}
