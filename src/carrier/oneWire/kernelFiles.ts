import { open, readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import type { Clock } from '../../units/clock.js';
import { type DurationMs, seconds } from '../../units/time.js';

/** The files in which the kernel shows a 1-Wire bus. A file that cannot be used is null, or false: it happens all the time. */
export interface KernelFiles {
  /** The names in a folder. */
  list(...path: string[]): Promise<readonly string[] | null>;
  read(...path: string[]): Promise<string | null>;
  /** Writes to a file that must be there. */
  write(text: string, ...path: string[]): Promise<boolean>;
}

/** A read converts, for at most some two seconds of five tries; after this long the bus hangs. */
const ANSWER_WITHIN: DurationMs = seconds(10);

/**
 * The real files below `root`. None is waited for longer than ten seconds, and one that still hangs is not asked again
 * meanwhile, so that a stuck bus takes no more than its own share of the file threads.
 */
export function kernelFiles(root: string, clock: Pick<Clock, 'sleep'>): KernelFiles {
  const hanging = new Set<string>();
  const within = async <T>(path: string, otherwise: T, task: () => Promise<T>): Promise<T> => {
    if (hanging.has(path)) return otherwise;
    hanging.add(path);
    const done = new AbortController();
    const ended = task()
      .catch(() => otherwise)
      .finally(() => {
        hanging.delete(path);
        done.abort();
      });
    const givenUp = clock
      .sleep(ANSWER_WITHIN, done.signal)
      .then(() => (done.signal.aborted ? ended : otherwise));
    return Promise.race([ended, givenUp]);
  };
  return {
    list: (...path) => within(join(root, ...path), null, () => readdir(join(root, ...path))),
    read: (...path) => within(join(root, ...path), null, () => readFile(join(root, ...path), 'latin1')),
    write: (text, ...path) =>
      within(join(root, ...path), false, async () => {
        const file = await open(join(root, ...path), 'r+');
        try {
          await file.write(text);
          return true;
        } finally {
          await file.close();
        }
      }),
  };
}
