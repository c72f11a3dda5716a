import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { openSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const PROGRAM = fileURLToPath(new URL('./stillwarm.js', import.meta.url));
/** How much of what a logger said is kept to explain its end, characters. */
const LAST_WORDS_MAX = 2000;

/** A logger in a process of its own. */
export interface LoggerProcess {
  readonly process: ChildProcess;
  /** Resolves when it has ended. */
  readonly ended: Promise<void>;
  /** The last line it said, when it has ended. */
  lastWords(): Promise<string>;
}

/**
 * Starts the logger as a process of its own. Detached, it goes on when this one ends, and what it says goes
 * to a file beside the store (see `logFile`); attached, it is this one's to stop.
 */
export function startLogger(
  store: string,
  args: readonly string[],
  tie: 'detached' | 'attached',
): LoggerProcess {
  const isDetached = tie === 'detached';
  const child = spawn(process.execPath, [PROGRAM, 'log', '--store', store, ...args], {
    detached: isDetached,
    stdio: ['ignore', 'ignore', isDetached ? openSync(logFile(store), 'a') : 'pipe'],
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
      return said.trim().split('\n').at(-1) ?? 'it said nothing';
    },
  };
}

/** Where a detached logger's words go. */
export const logFile = (store: string): string => `${store}.log`;
