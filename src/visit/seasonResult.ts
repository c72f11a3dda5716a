import {
  type CupCount,
  type CupFlow,
  clusteredEfficacy,
  cupFlow,
  type FlowCup,
  type Interval,
  type SeasonEntry,
  seasonReport,
  type YardEntry,
} from '../../shared/index.js';
import { type RuleSet, rulesToJson } from '../exposure/ruleSet.js';
import type { CupRuling } from '../exposure/types.js';
import type { Store } from '../store/store.js';

import { Refusal } from '../units/refusal.js';
import type { UtcMs } from '../units/time.js';
import type { Cup } from './cup.js';
import { visitResult } from './result.js';
import { cupsOf, type Season, type Visit } from './season.js';
import { type Lost, lostCups, type Operator, operatorsOf } from './seasonLosses.js';
import { type Lot, lotsOf } from './seasonLots.js';

/** All visits of a season, taken together: yards and arms side by side, and where the cups went. */
export interface SeasonResult {
  readonly line: number;
  readonly level: number;
  /** In order of yards' first visits, then of arms. */
  readonly yards: readonly YardOfSeason[];
  /** One an arm: what the yards together say. */
  readonly arms: readonly SeasonEntry[];
  readonly flow: CupFlow;
  readonly lost: readonly Lost[];
  readonly operators: readonly Operator[];
  readonly lots: readonly Lot[];
  readonly withoutStrip: WithoutStrip | null;
  /** What whoever reads it must know of how the visits were put together. */
  readonly remarks: readonly string[];
}

export interface YardOfSeason {
  readonly visits: readonly string[];
  readonly entry: YardEntry;
  /** Of the strip cups of this yard and arm; `planned` is never known for an arm. */
  readonly flow: CupFlow;
}

/** Valid and read cups without strip of all yards: what falls off by itself. */
export interface WithoutStrip {
  readonly cups: number;
  readonly yards: number;
  readonly tray: number;
  readonly mites: number;
  /** The share that fell; null without mites. */
  readonly fall: number | null;
  /** Clustered by yard; null below two yards with mites. */
  readonly interval: Interval | null;
}

/** A cup of the season with what became of it. */
export interface SeasonCup {
  readonly cup: Cup;
  readonly count: FlowCup;
  /** Null while it is exposed. */
  readonly ruling: CupRuling | null;
}

/**
 * Judges every visit by its own rule set, and takes the yards together.
 *
 * @throws {Refusal} when there is no visit, or rule sets draw different lines
 */
export function seasonResult(
  store: Store,
  season: Season,
  visits: readonly Visit[],
  now: UtcMs,
): SeasonResult {
  const { line, level } = commonBar(visits);
  const remarks: string[] = [];
  const yards: YardOfSeason[] = [];
  const all: SeasonCup[] = [];
  for (const [yard, ofYard] of grouped(visits, ({ yard: code }) => code)) {
    const pooled = underLatestRules(ofYard);
    if (pooled.length < ofYard.length)
      remarks.push(
        `yard ${yard}: visits judged by different rule sets are not pooled; ${ofYard
          .filter((visit) => !pooled.includes(visit))
          .map(({ visit }) => visit)
          .join(', ')} left out`,
      );
    if (pooled.length > 1)
      remarks.push(`yard ${yard}: ${pooled.length} visits pooled, so that no yard counts twice`);
    const result = visitResult(store, season, pooled, now);
    const cups = seasonCups(season, pooled, result.counted, result.rulings);
    all.push(...cups);
    for (const entry of result.efficacy.yards)
      yards.push({
        visits: pooled.map(({ visit }) => visit),
        entry,
        flow: cupFlow(
          cups.flatMap(({ count }) => (count.arm === entry.arm ? [count] : [])),
          null,
        ),
      });
  }
  const entries = yards.map(({ entry }) => entry);
  return {
    line,
    level,
    yards,
    arms: seasonReport(entries.filter(isOfStrips), { line, level }),
    flow: cupFlow(
      all.map(({ count }) => count),
      plannedIn(visits),
    ),
    lost: lostCups(all),
    operators: operatorsOf(store, all),
    lots: lotsOf(entries, all, line),
    withoutStrip: withoutStrip(all, level),
    remarks,
  };
}

/** An entry of cups without strip only has no efficacy. */
const isOfStrips = ({ cups }: YardEntry): boolean => cups.valid + cups.excluded + cups.unread > 0;

function commonBar(visits: readonly Visit[]): Pick<RuleSet, 'line' | 'level'> {
  const [first] = visits;
  if (first === undefined) throw new Refusal('There is no visit to take into a season yet.');
  const other = visits.find(
    ({ rules }) => rules.line !== first.rules.line || rules.level !== first.rules.level,
  );
  if (other !== undefined)
    throw new Refusal(
      `Visits ${first.visit} and ${other.visit} are judged by different lines or levels, which cannot be taken together; name visits of one rule set with --visit.`,
    );
  return first.rules;
}

function underLatestRules(visits: readonly Visit[]): Visit[] {
  const key = ({ rules }: Visit) => JSON.stringify(rulesToJson(rules));
  const latest = key(visits.reduce((last, each) => (each.opened >= last.opened ? each : last)));
  return visits.filter((visit) => key(visit) === latest);
}

function seasonCups(
  season: Season,
  visits: readonly Visit[],
  counted: readonly CupCount[],
  rulings: readonly CupRuling[],
): SeasonCup[] {
  const byCup = new Map(rulings.map((ruling) => [ruling.cup, ruling]));
  const counts = new Map(counted.map((count) => [count.cup, count]));
  return visits
    .flatMap(({ visit }) => cupsOf(season, visit))
    .map((cup) => ({
      cup,
      count: { ...counts.get(cup.cup)!, replaced: cup.spoiled?.replacedBy != null },
      ruling: byCup.get(cup.cup) ?? null,
    }));
}

/** Known only when every opening of every visit declared its cups. */
function plannedIn(visits: readonly Visit[]): number | null {
  const declared = visits.flatMap(({ openings }) => openings.map(({ declaredCups }) => declaredCups));
  return declared.includes(null) ? null : declared.reduce<number>((sum, cups) => sum + cups!, 0);
}

function withoutStrip(cups: readonly SeasonCup[], level: number): WithoutStrip | null {
  const read = cups.filter(
    ({ count: { kind, ruling, tray, wash } }) =>
      kind === 'no-strip' && ruling === 'valid' && tray !== null && wash !== null,
  );
  if (read.length === 0) return null;
  const yards = grouped(read, ({ count }) => count.yard);
  const shares = [...yards.values()].map((ofYard) => ({
    part: ofYard.reduce((sum, { count }) => sum + count.tray!, 0),
    whole: ofYard.reduce((sum, { count }) => sum + count.tray! + count.wash!, 0),
  }));
  const { tray, mites, efficacy, interval } = clusteredEfficacy(shares, level);
  return { cups: read.length, yards: yards.size, tray, mites, fall: efficacy, interval };
}

export function grouped<Item, Key extends string | null = string>(
  items: readonly Item[],
  keyOf: (item: Item) => Key,
): Map<Key, Item[]> {
  const groups = new Map<Key, Item[]>();
  for (const item of items) groups.set(keyOf(item), [...(groups.get(keyOf(item)) ?? []), item]);
  return groups;
}
