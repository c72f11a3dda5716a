import { readFileSync } from 'node:fs';
import { type Placement, readPlacement } from '../../../hardware/wiring/placement.js';
import type { Change } from './files.js';

export const PLACEMENT = 'hardware/wiring/perfboard.placement';
const TEXT = readFileSync(PLACEMENT, 'utf8');
export const PERFBOARD: Placement = readPlacement(TEXT, PLACEMENT);

/** The placement with changes; one that finds nothing to change is a mistake of the test. */
export function moved(...changes: readonly Change[]): Placement {
  const text = changes.reduce((before, [from, to]) => {
    if (!before.includes(from)) throw new Error(`nothing to change: ${from}`);
    return before.replace(from, () => to);
  }, TEXT);
  return readPlacement(text, PLACEMENT);
}

/** `FILE, line N: ` of the line that begins with `words`. */
export const inLine = (words: string): string =>
  `${PLACEMENT}, line ${TEXT.split('\n').findIndex((line) => line.startsWith(words)) + 1}: `;
