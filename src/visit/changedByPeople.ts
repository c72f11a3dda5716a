import type { UtcMs } from '../units/time.js';
import type { Counts, Cup } from './cup.js';
import type { Season } from './season.js';
import { withdrawnAfterCounts } from './withdrawals.js';

/** What people changed of a cup beside what the rules say and what was first read. */

/** Whether a person had a word in what counts of a cup, before and after its mites were counted. */
export interface ChangedRuling {
  readonly before: boolean;
  readonly after: boolean;
}

/** Spoiled before its mites were counted is an event as any other: nobody knew what it would do. */
export function changedRuling(season: Season, cup: Cup, now: UtcMs): ChangedRuling {
  const { overruled, spoiled } = cup;
  return {
    before: overruled?.afterCounts === false,
    after:
      overruled?.afterCounts === true ||
      spoiled?.afterCounts === true ||
      withdrawnAfterCounts(season, cup, now).length > 0,
  };
}

/** How many counts of a cup's mites, its tray and each wash, are not what they were when first entered. */
export function correctedCounts({ counts, washes, firstRead }: Cup): number {
  const now = [counts.tray, ...firstRead.washes.map((_mites, index) => washes[index] ?? null)];
  return [firstRead.tray, ...firstRead.washes].filter((first, index) => first !== now[index]).length;
}

/** What was read of a cup, its mites as they were first entered. */
export const countsAsFirstEntered = ({ counts, firstRead: { tray, washes } }: Cup): Counts => ({
  tray,
  wash: washes.length === 0 ? null : washes.reduce((sum, mites) => sum + mites, 0),
  bees: counts.bees,
});
