import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { openSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const PROGRAM = fileURLToPath(new URL('../stillwarm.js', import.meta.url));
/** How much of what a logger said is kept to explain its end, characters. */
const LAST_WORDS_MAX = 2000;

/** A logger in a process of its own. */
export interface LoggerProcess {
  readonly process: ChildProcess;
  /** Resolves when it has ended. */
  readonly ended: Promise<void>;
  /** Its last line and how it ended, when it has; a detached one's words are in its file. */
  lastWords(): Promise<string>;
}

/**
 * Starts the logger as a process of its own. Detached, it goes on when this one ends, and what it says goes
 * to a file beside the store (see `logFile`); attached, it ends with this one, however that ends.
 */
export function startLogger(
  store: string,
  args: readonly string[],
  tie: 'detached' | 'attached',
): LoggerProcess {
  const isDetached = tie === 'detached';
  const attached = isDetached ? [] : ['--until-stdin-ends'];
  const child = spawn(process.execPath, [PROGRAM, 'log', '--store', store, ...args, ...attached], {
    detached: isDetached,
    stdio: isDetached ? ['ignore', 'ignore', openSync(logFile(store), 'a')] : ['pipe', 'ignore', 'pipe'],
  });
  let said = '';
  child.stderr?.setEncoding('utf8').on('data', (text: string) => {
    said = (said + text).slice(-LAST_WORDS_MAX);
  });
  const ended = once(child, 'close').then(() => {});
  if (isDetached) child.unref();
  return {
    process: child,
    ended,
    lastWords: async () => {
      await ended;
      const words = isDetached ? readFileSync(logFile(store), 'utf8') : said;
      const last = words.trim().split('\n').at(-1);
      // Refused: the last line is the reason.
      if (child.exitCode === 1 && last) return last;
      const how = child.signalCode ?? `exit code ${child.exitCode}`;
      return last ? `it ended with ${how}; before that it said: ${last}` : `it ended with ${how}`;
    },
  };
}

/** Where a detached logger's words go. */
export const logFile = (store: string): string => `${store}.log`;
