import type { VisitId } from '../../units/ids.js';
import { cupsOf, type Season } from '../../visit/season.js';
import { listed, missingCounts, toldAllTheSame, waitsForCounts } from '../../visit/stillToCount.js';

/** Pages of text beside the live picture. */

/**
 * What came out of a visit, or what is still missing: no ruling and no efficacy is shown before its counts are complete,
 * for whoever counts should not know.
 *
 * @param resultOf the result in words
 */
export function resultPage(season: Season, visit: string, resultOf: (visit: string) => string): string[] {
  const cups = cupsOf(season, visit as VisitId).filter(({ spoiled }) => spoiled === null);
  const missing = missingCounts(cups);
  if (missing.length > 0) return waitsForCounts(missing, toldAllTheSame(visit));
  const bees = listed(
    'bees not read, left out of the infestation',
    cups.filter(({ turn, counts }) => turn !== null && counts.bees === null),
  );
  return [...(bees === '' ? [] : [bees, '']), ...resultOf(visit).split('\n')];
}
