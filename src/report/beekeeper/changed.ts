import type { EfficacyReport, YardEntry } from '../../../shared/index.js';
import type { UtcMs } from '../../units/time.js';
import { changedRuling, correctedCounts } from '../../visit/changedByPeople.js';
import type { Cup } from '../../visit/cup.js';
import { armOf, type VisitResult } from '../../visit/result.js';
import type { Season } from '../../visit/season.js';
import type { Ruled } from './findings.js';

/** When a person changed what counts, seen from the counts of the mites. */
export type When = 'before' | 'after' | 'both';

/** What people changed in one arm, and what it comes to without that; null where they changed nothing. */
export interface Changed {
  readonly rulings: { readonly when: When; readonly without: YardEntry } | null;
  readonly counts: { readonly corrected: number; readonly without: YardEntry } | null;
  /** What it comes to without either; null unless both were changed. */
  readonly withoutEither: YardEntry | null;
}

/** Whether a person set the rules' own ruling aside; who says what the rules say changes nothing. */
export const isSetByPerson = ({ cup, overruled }: Cup, ruled: Ruled): boolean =>
  overruled !== null && overruled.ruling !== ruled.get(cup)?.ruling;

/** What people changed in each arm. */
export function changedIn(
  season: Season,
  strip: readonly Cup[],
  { withoutOverrules, asFirstEntered, unchanged }: VisitResult,
  ruled: Ruled,
  now: UtcMs,
): ReadonlyMap<string | null, Changed> {
  const arms = new Set(strip.map(armOf));
  return new Map(
    [...arms].map((arm): [string | null, Changed] => {
      const cups = strip.filter((cup) => armOf(cup) === arm);
      const without = (report: EfficacyReport | null) => report?.yards.find((entry) => entry.arm === arm);
      const [byRules, asEntered] = [without(withoutOverrules), without(asFirstEntered)];
      const when = whenIn(season, cups, ruled, now);
      const corrected = cups.reduce((sum, cup) => sum + correctedCounts(cup), 0);
      const rulings = when === null || byRules === undefined ? null : { when, without: byRules };
      const counts = corrected === 0 || asEntered === undefined ? null : { corrected, without: asEntered };
      const withoutEither = rulings && counts && (without(unchanged) ?? null);
      return [arm, { rulings, counts, withoutEither }];
    }),
  );
}

function whenIn(season: Season, cups: readonly Cup[], ruled: Ruled, now: UtcMs): When | null {
  const each = cups.map((cup) =>
    changedRuling(season, isSetByPerson(cup, ruled) ? cup : { ...cup, overruled: null }, now),
  );
  const [isBefore, isAfter] = [each.some(({ before }) => before), each.some(({ after }) => after)];
  if (isBefore && isAfter) return 'both';
  if (isAfter) return 'after';
  return isBefore ? 'before' : null;
}
