import type { Fact } from '../store/facts.js';
import type { Records } from '../store/store.js';
import type { UtcMs } from '../units/time.js';
import { type Cup, isExposed } from './cup.js';
import { ruleOn } from './ruling.js';
import type { Season } from './season.js';

/**
 * The facts that put rulings on record before the counts of these cups are: what the rules say of each cup
 * that is turned or spoiled, unless just that is on record already.
 */
export function rulingFacts(store: Records, season: Season, cups: readonly Cup[], now: UtcMs): Fact[] {
  return cups.flatMap((cup): Fact[] => {
    if (isExposed(cup)) return [];
    const { rules } = season.visits.get(cup.visit)!;
    const { ruling, reasons } = ruleOn(store, season, cup, rules, now);
    if (cup.ruled.at(-1)?.ruling === ruling) return [];
    return [{ type: 'cup-ruled', cup: cup.cup, ruling, reasons: [...reasons], at: now }];
  });
}
