import { type Stats, statSync } from 'node:fs';
import { Refusal } from './refusal.js';

/** What this process was given open: a pipe there is no trap, for nothing waits for its other end to be opened. */
const GIVEN = /^\/(dev\/(stdin|fd\/\d+)|proc\/self\/fd\/\d+)$/;

/**
 * Refuses a path that is there and is no regular file, before it is opened: opening a named pipe waits for its other end, and so
 * deaf to Ctrl-C and to the service manager. A path that is not there is left to whoever opens it.
 *
 * @param instead what to do, after the semicolon
 * @param what comes before the path in the sentence
 * @param isToRead whether it is to be read: what is given open is written to by itself
 */
export function refuseIrregular(path: string, instead: string, what = '', isToRead = true): void {
  const found = lookAt(path);
  if (found === null || found.isFile() || (isToRead && GIVEN.test(path))) return;
  throw new Refusal(`${what}${path} is ${kindOf(found)}, not a file; ${instead}.`);
}

function lookAt(path: string): Stats | null {
  try {
    return statSync(path);
  } catch {
    return null;
  }
}

function kindOf(found: Stats): string {
  if (found.isDirectory()) return 'a folder';
  if (found.isFIFO()) return 'a pipe';
  return found.isSocket() ? 'a socket' : 'a device';
}
