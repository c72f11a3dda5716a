import type { Cup } from './cup.js';

/**
 * The cups that are still to be turned, or whose trays or washes are still to be read. Until then nobody who may count them is told a ruling, a temperature
 * or an efficacy: pages are blind, unless somebody says that no further count will come.
 */
export const stillToCount = (cups: readonly Cup[]): Cup[] =>
  cups.filter(
    ({ spoiled, turn, counts }) =>
      spoiled === null && (turn === null || counts.tray === null || counts.wash === null),
  );

/** What is missing of the counts of these cups, a line each; none when nothing more will be counted. */
export function missingCounts(cups: readonly Cup[]): string[] {
  const open = stillToCount(cups);
  const turned = open.filter(({ turn }) => turn !== null);
  return [
    listed(
      'to be turned',
      open.filter(({ turn }) => turn === null),
    ),
    listed(
      'tray not read',
      turned.filter(({ counts }) => counts.tray === null),
    ),
    listed(
      'wash not read',
      turned.filter(({ counts }) => counts.wash === null),
    ),
  ].filter((line) => line !== '');
}

/** How many cups something is said of, and which; empty when there is none. */
export const listed = (what: string, cups: readonly Cup[]): string =>
  cups.length === 0 ? '' : `${cups.length} ${what}: ${cups.map(({ cup }) => cup).join(', ')}`;

/**
 * In place of a result, as lines, while counts are missing.
 *
 * @param missing what is missing
 * @param unless how the result is told all the same
 */
export const waitsForCounts = (missing: readonly string[], unless: string): string[] => [
  'The result waits for the counts, so that whoever counts is not led by it.',
  '',
  ...missing,
  '',
  `A cup that will never be read is marked as spoiled. ${unless}`,
];

/** How somebody is told a result who does not count, or when no further count will come. */
export const toldAllTheSame = (visit: string): string =>
  `For somebody who does not count, or when no further count will come: visit result ${visit} --final.`;
