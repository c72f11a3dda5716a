import type { UtcMs } from '../units/time.js';
import { MS_PER_MINUTE } from '../units/time.js';
import type { Io } from './io.js';

/** A block of lines that is drawn anew in its place on a terminal; elsewhere one line a minute. */
export interface LiveLines {
  show(at: UtcMs, lines: readonly string[], summary: string): void;
  /** What is shown stays; the next block begins below it. */
  keep(): void;
}

const COLUMNS_MAX = 79;

export function liveLines(io: Io, isTerminal: boolean, isQuiet: boolean): LiveLines {
  let shown = 0;
  let summarized = Number.NEGATIVE_INFINITY;
  return {
    show(at, lines, summary) {
      if (isTerminal) {
        const up = shown > 0 ? `\u001b[${shown}A\u001b[J` : '';
        io.err(up + lines.map((line) => [...line].slice(0, COLUMNS_MAX).join('')).join('\n'));
        shown = lines.length;
      } else if (!isQuiet && at - summarized >= MS_PER_MINUTE) {
        summarized = at;
        io.err(summary);
      }
    },
    keep() {
      shown = 0;
    },
  };
}
