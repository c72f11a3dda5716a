import type { RuleSet } from '../../exposure/ruleSet.js';
import type { CupRuling, Exposure, Observation } from '../../exposure/types.js';
import type { RecordedFact } from '../../store/facts.js';
import type { Records } from '../../store/store.js';
import type { RomId } from '../../units/ids.js';
import { later, seconds, type UtcMs, utcMs } from '../../units/time.js';
import { inZone } from '../../units/zone.js';
import { type CarrierNames, carrierNames } from '../../visit/carrierNames.js';
import type { Cup } from '../../visit/cup.js';
import { exposureOf, observe } from '../../visit/exposures.js';
import { keptWords } from '../../visit/keptWords.js';
import { type VisitResult, visitResult } from '../../visit/result.js';
import { cupsOf, type Season, type Visit } from '../../visit/season.js';
import { stillToCount } from '../../visit/stillToCount.js';
import { type ChainHead, chainHeads } from '../chainHeads.js';

/** All that a lab report is made of. */
export interface Material {
  readonly season: Season;
  readonly visit: Visit;
  readonly rules: RuleSet;
  readonly result: VisitResult;
  readonly cups: readonly CupMaterial[];
  /** Of every chain. */
  readonly facts: readonly RecordedFact[];
  readonly chains: readonly ChainHead[];
  /**
   * A person's words, as far as they may be told; `otherwise` when there are none, and `what` they are when they are
   * missing.
   */
  readonly text: (ref: string | null | undefined, otherwise: string, what: string) => string;
  readonly names: CarrierNames;
  /** An instant in the visit's zone. */
  readonly when: (at: UtcMs) => string;
  readonly observationsOf: (probe: string) => readonly Observation[];
  /** Cups whose counts are missing and may still come: whoever counts them must know no ruling. */
  readonly awaited: readonly Cup[];
  readonly now: UtcMs;
  readonly version: string;
}

export interface CupMaterial {
  readonly cup: Cup;
  readonly exposure: Exposure;
  /** Null while it is exposed. */
  readonly ruling: CupRuling | null;
}

/**
 * Gathers what a lab report tells of a visit.
 *
 * @param isFinal whether missing counts will not come
 */
export function materialOf(
  store: Records,
  season: Season,
  visit: Visit,
  now: UtcMs,
  version: string,
  isFinal: boolean,
): Material {
  const { rules, zone } = visit;
  const when = (at: UtcMs) => inZone(at, zone);
  const result = visitResult(store, season, [visit], now, when);
  const ruled = new Map(result.rulings.map((ruling) => [ruling.cup, ruling]));
  const cups = cupsOf(season, visit.visit).map((cup) => ({
    cup,
    exposure: exposureOf(season, cup, now),
    ruling: ruled.get(cup.cup) ?? null,
  }));
  return {
    season,
    visit,
    rules,
    result,
    cups,
    facts: store.everyFact(),
    chains: chainHeads(store),
    text: (ref, otherwise, what) =>
      ref === null || ref === undefined ? otherwise : keptWords(store, ref, what),
    names: carrierNames(season),
    when,
    observationsOf: observationsIn(
      store,
      season,
      cups.map(({ exposure }) => exposure),
      rules,
    ),
    awaited: isFinal ? [] : stillToCount(cups.map(({ cup }) => cup)),
    now,
    version,
  };
}

/** Trustworthy readings of each probe over all exposures, corrected; read once. */
function observationsIn(
  store: Pick<Records, 'track'>,
  season: Season,
  exposures: readonly Exposure[],
  rules: RuleSet,
): Material['observationsOf'] {
  const margin = seconds(rules.maxGapSeconds);
  const from = utcMs(Math.min(...exposures.map(({ load }) => load)) - margin);
  const to = later(utcMs(Math.max(...exposures.map(({ turn }) => turn))), margin);
  const known = new Map<string, readonly Observation[]>();
  return (probe) => {
    const before = known.get(probe);
    if (before !== undefined) return before;
    const rom = probe as RomId;
    const found: Observation[] = [];
    observe(store.track(rom, from, to), rom, season.commissioned, (at, celsius) =>
      found.push({ at, celsius }),
    );
    known.set(probe, found);
    return found;
  };
}
