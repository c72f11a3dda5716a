import { hanging } from '../units/hanging.js';
import type { Io } from './io.js';

/** Lines for people are no longer than this, so that the narrowest common terminal shows them whole. */
const COLUMNS_MAX = 79;

/**
 * Breaks long lines between words; what follows a break is indented further than the line's beginning.
 *
 * @param columns characters a line may have
 */
export const wrapped = (text: string, columns = COLUMNS_MAX): string =>
  text
    .split('\n')
    .flatMap((line) => hanging(line, columns))
    .join('\n');

/** Prints a sentence on standard error, broken between words where that is a terminal, and whole in a pipe. */
export function errSentence({ err, errColumns }: Io, sentence: string): void {
  err(errColumns === undefined ? sentence : wrapped(sentence, errColumns - 1));
}
