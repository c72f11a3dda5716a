import { writeSync } from 'node:fs';

/** How much is kept of what could not be written yet, characters. */
const KEPT_MAX = 10_000;

/**
 * Writes lines to a file that may be on a full disk: what cannot be written is kept, up to a limit from its end, and
 * written before the next line that can. Node's own stream of a file would end at the first failure.
 */
export function linesToFile(file: number): (lines: string) => void {
  let kept = Buffer.alloc(0);
  return (lines) => {
    kept = Buffer.concat([kept, Buffer.from(lines)]);
    try {
      while (kept.length > 0) kept = kept.subarray(writeSync(file, kept));
    } catch {
      // The disk is full, or gone. Whoever runs the program sees that elsewhere, too.
      if (kept.length > KEPT_MAX) kept = kept.subarray(kept.length - KEPT_MAX);
    }
  };
}
