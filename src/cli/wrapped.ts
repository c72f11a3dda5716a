import { hanging } from '../units/hanging.js';

/** Lines for people are no longer than this, so that the narrowest common terminal shows them whole. */
const COLUMNS_MAX = 79;

/** Breaks long lines between words; what follows a break is indented further than the line's beginning. */
export const wrapped = (text: string): string =>
  text
    .split('\n')
    .flatMap((line) => hanging(line, COLUMNS_MAX))
    .join('\n');
