import { spawn } from 'node:child_process';
import { stripVTControlCharacters } from 'node:util';
import { PROGRAM, until } from './program.js';

/** What a screen on that store has shown by when it shows `words`, in a minute at most. */
export async function screenShows(store: string, words: string): Promise<string> {
  const screen = spawn('script', ['-qefc', 'exec "$NODE" "$PROGRAM" watch --store "$STORE"', '/dev/null'], {
    env: { ...process.env, SHELL: '/bin/sh', TERM: 'xterm', NODE: process.execPath, PROGRAM, STORE: store },
    stdio: ['pipe', 'pipe', 'inherit'],
  });
  let shown = '';
  screen.stdout.on('data', (data: Buffer) => {
    shown += data.toString();
  });
  try {
    return await until(`the screen shows ${words}`, () => {
      // Colours and breaks of lines come between words.
      const plain = stripVTControlCharacters(shown).replaceAll(/\s+/g, ' ');
      return plain.includes(words) && shown;
    });
  } finally {
    screen.kill('SIGKILL');
  }
}
