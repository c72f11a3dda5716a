import type { VisitId } from '../../units/ids.js';
import type { Cup } from '../../visit/cup.js';
import { cupsOf, type Season } from '../../visit/season.js';

/** Pages of text beside the live picture. */

/**
 * What came out of a visit, or what is still missing: no ruling and no efficacy is shown before its counts are complete,
 * for whoever counts should not know.
 *
 * @param resultOf the result in words
 */
export function resultPage(season: Season, visit: string, resultOf: (visit: string) => string): string[] {
  const cups = cupsOf(season, visit as VisitId).filter(({ spoiled }) => spoiled === null);
  const riding = cups.filter(({ turn }) => turn === null);
  const unread = (field: 'tray' | 'wash' | 'bees') =>
    cups.filter(({ turn, counts }) => turn !== null && counts[field] === null);
  const missing = [
    listed('to be turned', riding),
    listed('tray not read', unread('tray')),
    listed('wash not read', unread('wash')),
  ].filter((line) => line !== '');
  if (missing.length === 0) {
    const bees = listed('bees not read, left out of the infestation', unread('bees'));
    return [...(bees === '' ? [] : [bees, '']), ...resultOf(visit).split('\n')];
  }
  return [
    `The result of visit ${visit} waits for its counts, so that whoever counts is not led by it.`,
    '',
    ...missing,
    '',
    'Without them for good: visit result on the command line shows what there is.',
  ];
}

const listed = (what: string, cups: readonly Cup[]): string =>
  cups.length === 0 ? '' : `${cups.length} ${what}: ${cups.map(({ cup }) => cup).join(', ')}`;
