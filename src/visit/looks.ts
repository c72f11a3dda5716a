import { chainOfNumber } from '../store/chains.js';
import type { Cup } from './cup.js';
import { cupsOf, type Opening, type Season, type Visit } from './season.js';

/**
 * How often each yard's result has been, or could have been, looked at: once with the cups that were planned before
 * anything was known, and once more for each time that cups came on top of them.
 *
 * Planned is what all openings declare that were made before a cup of the yard had been washed: two vehicles of one visit
 * plan their own cups each, and no look led to the second one. An opening after that, of the same visit or of another one
 * that is pooled with it, is a further look; so are cups beyond what was declared. Who told no number promised none. A cup
 * in the place of one that was replaced before anything was counted is no further one: no look led to it.
 *
 * @param visits those taken together
 */
export function looksAt(season: Season, visits: readonly Visit[]): Record<string, number> {
  const looks: Record<string, number> = {};
  for (const { yard } of visits) {
    if (Object.hasOwn(looks, yard)) continue;
    const ofYard = visits.filter((visit) => visit.yard === yard);
    const cups = ofYard.flatMap(({ visit }) => cupsOf(season, visit));
    const later = ofYard.flatMap(({ visit, openings }) =>
      openings.filter(
        (opening) => loadedBy(cupsOf(season, visit), opening).length > 0 && isAfterResult(opening, cups),
      ),
    );
    const isBeyond = ofYard.some((visit) => isBeyondPlan(visit, cupsOf(season, visit.visit)));
    looks[yard] = 1 + later.length + (isBeyond ? 1 : 0);
  }
  return looks;
}

/** The number of the chain in which a cup was loaded. */
const chainOf = ({ entries }: Cup): number | null => {
  const loading = entries.find(({ fact }) => fact.type === 'cup-loaded');
  return loading === undefined ? null : chainOfNumber(loading.seq);
};

const loadedBy = (cups: readonly Cup[], { chain }: Opening): Cup[] =>
  cups.filter((cup) => chainOf(cup) === chain);

/** A tray alone is no result: it takes the wash to know one. */
const isAfterResult = ({ at }: Opening, cups: readonly Cup[]): boolean =>
  cups.some(
    ({ load, entries }) =>
      load < at &&
      entries.some(
        ({ fact }) =>
          fact.type === 'cup-counted' && fact.at < at && (fact.wash !== null || fact.washAgain !== undefined),
      ),
  );

function isBeyondPlan({ declaredCups, openings }: Visit, cups: readonly Cup[]): boolean {
  const silent = new Set(openings.flatMap(({ chain, declaredCups }) => (declaredCups === null ? chain : [])));
  const planned = cups.filter((cup) => isNotReplaced(cup) && !silent.has(chainOf(cup)!));
  return declaredCups !== null && planned.length > declaredCups;
}

const isNotReplaced = ({ spoiled }: Cup): boolean => spoiled?.replacedBy == null || spoiled.afterCounts;
