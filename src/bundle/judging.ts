import { type Case, type OrderedRulings, orderedRulings } from '../exposure/orderedRulings.js';
import type { RuleSet } from '../exposure/ruleSet.js';
import { trustworthy } from '../exposure/trustworthy.js';
import type { CupRuling } from '../exposure/types.js';
import { type Celsius, celsiusDifference, shifted } from '../units/temperature.js';
import { durationMs, type UtcMs } from '../units/time.js';
import type { Cell, Row } from './column.js';

/** What is judged, from the rows of exposures and seatings; `rules` are those of rules.json. */
export function casesFrom(
  exposures: readonly Row[],
  seatings: readonly Row[],
  rules: readonly RuleSet[],
): Case[] {
  const byCup = grouped(seatings);
  return exposures.map((row) => ({
    rules: rules[(row['rule_set'] as number) - 1]!,
    exposure: {
      cup: cupOf(row),
      load: row['load_utc'] as UtcMs,
      turn: row['end_utc'] as UtcMs,
      precision: {
        load: durationMs(row['load_within_ms'] as number),
        turn: durationMs(row['turn_within_ms'] as number),
      },
      seatings: (byCup.get(cupOf(row)) ?? []).map((each) => ({
        probe: each['probe'] as string,
        from: each['from_utc'] as UtcMs,
        to: each['to_utc'] as UtcMs,
        uncertainty: celsiusDifference(each['uncertainty_celsius'] as number),
      })),
      spoiled: row['is_spoiled'] === true ? 'marked by the crew' : null,
      remarks: [],
    },
  }));
}

const cupOf = (row: Row): string => row['cup'] as string;

function grouped(rows: readonly Row[]): Map<string, Row[]> {
  const groups = new Map<string, Row[]>();
  for (const row of rows) groups.set(cupOf(row), [...(groups.get(cupOf(row)) ?? []), row]);
  return groups;
}

/** What a probe reads too much at a time, by the ice checks among the rows of calibrations. */
export type OffsetAt = (probe: string, at: UtcMs) => number;

export function offsetsFrom(calibrations: readonly Row[]): OffsetAt {
  const checks = new Map<string, { at: number; offset: number }[]>();
  for (const row of calibrations) {
    if (row['what'] !== 'ice-checked' || row['withdrawn_utc'] !== null) continue;
    const probe = row['probe'] as string;
    const check = { at: row['at_utc'] as number, offset: row['offset_celsius'] as number };
    checks.set(
      probe,
      [...(checks.get(probe) ?? []), check].sort((a, b) => a.at - b.at),
    );
  }
  return (probe, at) => checks.get(probe)?.findLast((check) => check.at <= at)?.offset ?? 0;
}

/** What a reading says of the air, corrected, or null when the ruling may not use it. */
export function usable(status: string, raw: number | null, offset: number): Celsius | null {
  const value = trustworthy(status, raw);
  return typeof value === 'number' ? shifted(value, celsiusDifference(-offset)) : null;
}

/** Judges in one pass over readings that come probe by probe in order of time. */
export interface Judging {
  /** @returns the sentence that says why not, when it cannot be taken */
  take(probe: string, at: UtcMs, celsius: Celsius): string | null;
  rulings(): CupRuling[];
}

export function judging(cases: readonly Case[]): Judging {
  const ordered: OrderedRulings = orderedRulings(cases);
  const probes = new Set(ordered.probes);
  return {
    take(probe, at, celsius) {
      if (!probes.has(probe)) return null;
      switch (ordered.feedOf(probe).take(at, celsius)) {
        case 'conflict':
          return 'another temperature of this probe stands at the same instant, so that nobody can tell which is wrong';
        case 'late':
          return 'stands after a later reading of the same probe';
        default:
          return null;
      }
    },
    rulings: ordered.rulings,
  };
}

/** Between several sentences in one cell. */
const BETWEEN = ' | ';
const sentences = (all: readonly string[]): Cell => (all.length === 0 ? null : all.join(BETWEEN));

export function rulingRow(ruling: CupRuling): Row {
  const { coldMinutes, longestColdSpellMinutes, hotMinutes, longestHotSpellMinutes } = ruling;
  return {
    cup: ruling.cup,
    ruling: ruling.ruling,
    reasons: sentences(ruling.reasons),
    exposure_min: ruling.exposureMinutes,
    observed_min: ruling.observedMinutes,
    cold_certain_min: coldMinutes.certain,
    cold_possible_min: coldMinutes.possible,
    cold_spell_certain_min: longestColdSpellMinutes.certain,
    cold_spell_possible_min: longestColdSpellMinutes.possible,
    hot_certain_min: hotMinutes.certain,
    hot_possible_min: hotMinutes.possible,
    hot_spell_certain_min: longestHotSpellMinutes.certain,
    hot_spell_possible_min: longestHotSpellMinutes.possible,
    min_celsius: ruling.minCelsius,
    max_celsius: ruling.maxCelsius,
    mean_celsius: ruling.meanCelsius,
    below_celsius_min: ruling.degreeMinutesBelow,
    gaps: ruling.gaps.length,
    remarks: sentences(ruling.remarks),
  };
}

/** The rows of counts with the ruling that counts: what a person set it to, else that by rule. */
export function ruledCounts(counts: readonly Row[], cups: readonly Row[], rulings: readonly Row[]): Row[] {
  const overruled = new Map(cups.map((row) => [row['cup'], row['overruled_to']]));
  const ruled = new Map(rulings.map((row) => [row['cup'], row['ruling']]));
  return counts.map((row) => ({
    ...row,
    ruling: overruled.get(row['cup']!) ?? ruled.get(row['cup']!) ?? null,
  }));
}
