import { type CupCount, type EfficacyReport, efficacyReport } from '../../shared/index.js';
import { type RuleSet, rulesToJson } from '../exposure/ruleSet.js';
import { type RulingJson, rulingToJson } from '../exposure/rulingJson.js';
import type { CupRuling } from '../exposure/types.js';
import type { Records } from '../store/store.js';
import type { CupLabel } from '../units/ids.js';
import { type UtcMs, utcMs } from '../units/time.js';
import { changedRuling, correctedCounts, countsAsFirstEntered } from './changedByPeople.js';
import { type Cup, isExposed } from './cup.js';
import { historyOf, type Instant, whySpoiled } from './cupHistory.js';
import { looksAt } from './looks.js';
import { type Prewarming, prewarmingOf } from './prewarming.js';
import { ruleOn } from './ruling.js';
import { cupsOf, type Season, type Visit } from './season.js';
import { seasonBeforeCounts, withdrawalRemarks } from './withdrawals.js';

/** What came out of one or more visits under one rule set: rulings first, then what they leave to count. */
export interface VisitResult {
  readonly rules: RuleSet;
  /** By rule, whatever a person said later; that stands in the remarks. */
  readonly rulings: readonly CupRuling[];
  /** With what people overruled. */
  readonly efficacy: EfficacyReport;
  /** The cups as that took them, in order of visits and loads. */
  readonly counted: readonly CupCount[];
  /** Without overrules, and without what was spoiled or withdrawn after counting; null when there is none. */
  readonly withoutOverrules: EfficacyReport | null;
  /** With overrules, and with mites as they were first entered; null when no count of them was corrected or withdrawn. */
  readonly asFirstEntered: EfficacyReport | null;
  /** Without either; null unless there are both. */
  readonly unchanged: EfficacyReport | null;
  /** Of the carriers that its cups sat in, as they were known to be at the first load. */
  readonly probes: readonly Prewarming[];
}

/** The contract's shape: that of `efficacy`, and `rulings` in that of `judge`. */
export interface VisitResultJson extends EfficacyReport {
  /** Only when a person changed what counts, see `VisitResult`. */
  readonly withoutOverrules?: EfficacyReport;
  readonly asFirstEntered?: EfficacyReport;
  readonly unchanged?: EfficacyReport;
  readonly rulings: { readonly rules: Record<string, string | number>; readonly cups: readonly RulingJson[] };
}

/**
 * Judges every turned or spoiled cup of the visits, without looking at a count, then pools what is valid.
 * Cups still exposed have no ruling and count as unread.
 *
 * @param visits at least one, all opened under the same rule set
 * @param instant how remarks write times; in UTC when it is left out
 */
export function visitResult(
  store: Records,
  season: Season,
  visits: readonly Visit[],
  now: UtcMs,
  instant?: Instant,
): VisitResult {
  const rules = visits[0]!.rules;
  const cups = visits.flatMap(({ visit }) => cupsOf(season, visit));
  const ruled = rulingsOn(store, season, cups, rules, now);
  const countsBy = (of: readonly Cup[], rulings: ReadonlyMap<CupLabel, CupRuling>, isOverruled: boolean) =>
    of.map((cup) => countOf(season, cup, rulings.get(cup.cup), isOverruled, rules));
  const report = (counts: readonly CupCount[]) => efficacyOf(season, visits, counts);
  const counted = countsBy(cups, ruled, true);
  const isRulingChanged = cups.some((cup) => Object.values(changedRuling(season, cup, now)).includes(true));
  const byRules = isRulingChanged
    ? rulingsOn(store, season, cups.map(withoutLateSpoiling), rules, now, seasonBeforeCounts)
    : null;
  const asEntered = cups.some((cup) => correctedCounts(cup) > 0)
    ? cups.map((cup) => ({ ...cup, counts: countsAsFirstEntered(cup) }))
    : null;
  return {
    rules,
    rulings: cups.flatMap((cup) => {
      const ruling = ruled.get(cup.cup);
      if (!ruling) return [];
      const { remarks } = ruling;
      const said = [
        ...historyOf(store, season, cup, ruling, instant),
        ...withdrawalRemarks(store, season, cup, now, instant),
      ];
      return [{ ...ruling, remarks: [...remarks, ...said] }];
    }),
    efficacy: report(counted),
    counted,
    probes: probesOf(season, cups),
    withoutOverrules: byRules && report(countsBy(cups, byRules, false)),
    asFirstEntered: asEntered && report(countsBy(asEntered, ruled, true)),
    unchanged: byRules && asEntered && report(countsBy(asEntered, byRules, false)),
  };
}

/** What counts of the visits' cups come to, by the visits' rule set and looks. */
export function efficacyOf(
  season: Season,
  visits: readonly Visit[],
  counts: readonly CupCount[],
): EfficacyReport {
  const { line, minCups, minMites, level } = visits[0]!.rules;
  return efficacyReport(counts, { line, minCups, minMites, level, looks: looksAt(season, visits) });
}

function probesOf(season: Season, cups: readonly Cup[]): Prewarming[] {
  const carriers = new Set(cups.flatMap(({ places }) => places.map(({ carrier }) => carrier)));
  const first = utcMs(Math.min(...cups.map(({ load }) => load)));
  return carriers.size === 0
    ? []
    : prewarmingOf(season, first).filter(({ carrier }) => carriers.has(carrier));
}

const withoutLateSpoiling = (cup: Cup): Cup => (cup.spoiled?.afterCounts ? { ...cup, spoiled: null } : cup);

/**
 * The rulings on those of the cups that are turned or spoiled.
 *
 * @param seasonFor what bears on a cup
 */
function rulingsOn(
  store: Records,
  season: Season,
  cups: readonly Cup[],
  rules: RuleSet,
  now: UtcMs,
  seasonFor: typeof seasonBeforeCounts = (all) => all,
): ReadonlyMap<CupLabel, CupRuling> {
  return new Map(
    cups
      .filter((cup) => !isExposed(cup))
      .map((cup) => [
        cup.cup,
        ruleOn(store, seasonFor(season, cup, now), cup, rules, now, whySpoiled(store, cup)),
      ]),
  );
}

function countOf(
  season: Season,
  cup: Cup,
  ruling: CupRuling | undefined,
  isOverruled: boolean,
  rules: RuleSet,
): CupCount {
  return {
    yard: season.visits.get(cup.visit)!.yard,
    cup: cup.cup,
    kind: cup.kind,
    ...(ruling ? cup.counts : { tray: null, wash: null, bees: null }),
    arm: armOf(cup),
    colony: cup.colony,
    group: cup.group,
    ruling: (isOverruled ? cup.overruled?.ruling : undefined) ?? ruling?.ruling ?? 'valid',
    cool: ruling !== undefined && ruling.meanCelsius !== null && ruling.meanCelsius < rules.coolMeanCelsius,
  };
}

/** What an arm is made of; at least one of both is known. */
export interface ArmParts {
  readonly active: string | null;
  readonly lot: string | null;
}

/** The arm of a strip cup: its active and lot. Cups without strip serve every arm. */
export const armPartsOf = ({ kind, active, lot }: Cup): ArmParts | null =>
  kind === 'no-strip' || (active === null && lot === null) ? null : { active, lot };

/** The same as the name by which results know it, in English. */
export function armOf(cup: Cup): string | null {
  const parts = armPartsOf(cup);
  if (parts === null) return null;
  const { active, lot } = parts;
  return [active, lot === null ? null : `lot ${lot}`].filter((part) => part !== null).join(', ');
}

export function resultToJson(result: VisitResult): VisitResultJson {
  const { rules, rulings, efficacy, withoutOverrules, asFirstEntered, unchanged } = result;
  return {
    ...efficacy,
    ...(withoutOverrules ? { withoutOverrules } : {}),
    ...(asFirstEntered ? { asFirstEntered } : {}),
    ...(unchanged ? { unchanged } : {}),
    rulings: { rules: rulesToJson(rules), cups: rulings.map(rulingToJson) },
  };
}
