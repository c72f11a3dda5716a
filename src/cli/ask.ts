import { createInterface } from 'node:readline/promises';

/** Asks a person at the terminal; null when no answer comes: Ctrl-C, Ctrl-D, or the terminal went away. */
export async function ask(question: string): Promise<string | null> {
  const asking = createInterface({ input: process.stdin, output: process.stderr });
  const closed = new Promise<null>((resolve) => {
    asking.once('close', () => resolve(null));
    asking.once('SIGINT', () => asking.close());
  });
  try {
    return await Promise.race([asking.question(question), closed]);
  } finally {
    asking.close();
  }
}
