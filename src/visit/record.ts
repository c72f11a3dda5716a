import type { Fact } from '../store/facts.js';
import type { Store } from '../store/store.js';
import { Refusal } from '../units/refusal.js';
import type { UtcMs } from '../units/time.js';
import { inZone, type Telling } from '../units/zone.js';
import { objection } from './lifecycle.js';
import { foldSeason, type Season, seasonOf } from './season.js';

/**
 * Appends facts to a store after checking each against everything known before it, in one transaction:
 * all of them, or, with a Refusal, none.
 *
 * @param make gives the facts, from the season as it stands inside the transaction
 * @param tell writes the instants in a Refusal
 */
export function record(
  store: Store,
  now: UtcMs,
  make: (season: Season) => readonly Fact[],
  tell: Telling = inZone,
): readonly Fact[] {
  return store.transaction(() => {
    let season = seasonOf(store);
    const facts = make(season);
    let seq = store.head().count;
    for (const fact of facts) {
      seq += 1;
      const recorded = { seq, recorded: now, fact };
      const sentence = objection(season, fact, now, tell);
      if (sentence !== null) throw new Refusal(sentence);
      season = foldSeason([recorded], season);
    }
    store.append(now, ...facts);
    return facts;
  });
}
