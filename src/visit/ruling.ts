import { orderedRulings } from '../exposure/orderedRulings.js';
import type { RuleSet } from '../exposure/ruleSet.js';
import { conflict } from '../exposure/trustworthy.js';
import type { CupRuling, Exposure } from '../exposure/types.js';
import type { Records } from '../store/store.js';
import type { RomId } from '../units/ids.js';
import type { Celsius } from '../units/temperature.js';
import { durationMs, later, type UtcMs } from '../units/time.js';
import type { Commissioned } from './commissioned.js';
import type { Cup } from './cup.js';
import { exposureOf, observe } from './exposures.js';
import type { Season } from './season.js';

/**
 * The ruling on one cup from what the store holds; its end is `now` when it has not been turned.
 *
 * @param whySpoiled a person's words, for those who may read them; without them the reason says only that
 */
export function ruleOn(
  store: Records,
  season: Season,
  cup: Cup,
  rules: RuleSet,
  now: UtcMs,
  whySpoiled: string | null = null,
): CupRuling {
  const plain = exposureOf(season, cup, now);
  const exposure = plain.spoiled === null ? plain : { ...plain, spoiled: whySpoiled ?? plain.spoiled };
  return ruleExposure(store, exposure, season.commissioned, rules);
}

/** The ruling on an exposure from the readings that the store holds of it, fresh or sealed. @throws {Refusal} as `judgeExposure` */
export function ruleExposure(
  store: Pick<Records, 'track'>,
  exposure: Exposure,
  known: Commissioned,
  rules: RuleSet,
): CupRuling {
  const judging = orderedRulings([{ exposure, rules }]);
  const from = later(exposure.load, durationMs(-exposure.precision.load));
  const to = later(exposure.turn, exposure.precision.turn);
  for (const probe of judging.probes) {
    const feed = judging.feedOf(probe);
    const rom = probe as RomId;
    let last: Celsius | null = null;
    observe(store.track(rom, from, to), rom, known, (at, celsius) => {
      if (feed.take(at, celsius) === 'conflict') throw conflict(probe, at, last!, celsius);
      last = celsius;
    });
  }
  return judging.rulings()[0]!;
}
