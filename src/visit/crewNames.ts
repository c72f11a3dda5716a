import type { Store } from '../store/store.js';
import type { UtcMs } from '../units/time.js';
import type { Season } from './season.js';

/** So many entries are looked at: each name is a text of its own in the store. */
const ENTRIES_MAX = 200;

/** The names of those who entered something of cups last, the latest first. */
export function crewNames(store: Store, { cups }: Season, most: number): string[] {
  const entered: { readonly who: string; readonly recorded: UtcMs }[] = [];
  for (const { entries } of cups.values())
    for (const { fact, recorded } of entries)
      if (fact.who !== undefined) entered.push({ who: fact.who, recorded });
  entered.sort((a, b) => b.recorded - a.recorded);
  const names = new Set<string>();
  for (const { who } of entered.slice(0, ENTRIES_MAX)) {
    const name = store.text(who);
    if (name !== null) names.add(name);
    if (names.size === most) break;
  }
  return [...names];
}
