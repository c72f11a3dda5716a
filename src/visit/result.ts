import { type CupCount, type EfficacyReport, efficacyReport } from '../../shared/index.js';
import { judgeExposure } from '../exposure/judge.js';
import { type RuleSet, rulesToJson } from '../exposure/ruleSet.js';
import { type RulingJson, rulingToJson } from '../exposure/rulingJson.js';
import type { CupRuling } from '../exposure/types.js';
import type { Store } from '../store/store.js';
import type { CupLabel, RomId } from '../units/ids.js';
import { formatInstant, type UtcMs } from '../units/time.js';
import { exposureOf, observations } from './exposures.js';
import { type Cup, cupsOf, type Season, type Visit } from './season.js';

/** What came out of one or more visits under one rule set: rulings first, then what they leave to count. */
export interface VisitResult {
  readonly rules: RuleSet;
  /** By rule, whatever a person said later; that stands in the remarks. */
  readonly rulings: readonly CupRuling[];
  /** With what people overruled. */
  readonly efficacy: EfficacyReport;
  /** As the rules alone have it; null when nobody overruled anything. */
  readonly withoutOverrules: EfficacyReport | null;
}

/** The contract's shape: that of `efficacy`, and `rulings` in that of `judge`. */
export interface VisitResultJson extends EfficacyReport {
  /** Only when a ruling was overruled. */
  readonly withoutOverrules?: EfficacyReport;
  readonly rulings: { readonly rules: Record<string, string | number>; readonly cups: readonly RulingJson[] };
}

/**
 * Judges every turned or spoiled cup of the visits, without looking at a count, then pools what is valid.
 * Cups still exposed have no ruling and count as unread.
 *
 * @param visits at least one, all opened under the same rule set
 */
export function visitResult(store: Store, season: Season, visits: readonly Visit[], now: UtcMs): VisitResult {
  const rules = visits[0]!.rules;
  const cups = visits.flatMap(({ visit }) => cupsOf(season, visit));
  const rulings = new Map<CupLabel, CupRuling>();
  for (const cup of cups)
    if (cup.turn !== null || cup.spoiled !== null)
      rulings.set(cup.cup, ruleOn(store, season, cup, rules, now));
  const counted = (cup: Cup, isOverruled: boolean): CupCount => {
    const ruling = rulings.get(cup.cup);
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
  };
  const report = (isOverruled: boolean) => {
    const { line, minCups, minMites, level } = rules;
    const counts = cups.map((cup) => counted(cup, isOverruled));
    return efficacyReport(counts, { line, minCups, minMites, level });
  };
  return {
    rules,
    rulings: cups.flatMap((cup) => {
      const ruling = rulings.get(cup.cup);
      return ruling ? [{ ...ruling, remarks: [...ruling.remarks, ...historyOf(cup, ruling)] }] : [];
    }),
    efficacy: report(true),
    withoutOverrules: cups.some(({ overruled }) => overruled !== null) ? report(false) : null,
  };
}

/** What must be said beside a ruling: that it was another one before, or that a person set it aside. */
function historyOf({ ruled, overruled }: Cup, { ruling }: CupRuling): string[] {
  const before = ruled.findLast((each) => each.ruling !== ruling);
  return [
    ...(before && ruled.at(-1)?.ruling === before.ruling
      ? [
          `changed: ruled ${before.ruling} at ${formatInstant(before.at)}, before readings or facts came in late`,
        ]
      : []),
    ...(overruled
      ? [
          `overruled: counts as ${overruled.ruling} by a person's word at ${formatInstant(overruled.at)}, ${overruled.afterCounts ? 'after' : 'before'} its mites were counted`,
        ]
      : []),
  ];
}

/** The ruling on one cup from what the store holds; its end is `now` when it has not been turned. */
export function ruleOn(store: Store, season: Season, cup: Cup, rules: RuleSet, now: UtcMs): CupRuling {
  const exposure = exposureOf(season, cup, now);
  return judgeExposure(
    exposure,
    (probe) => observations(store.readings(probe as RomId, exposure.load, exposure.turn)),
    rules,
  );
}

/** The arm of a strip cup: its active and lot. Cups without strip serve every arm. */
export function armOf(cup: Cup): string | null {
  if (cup.kind === 'no-strip' || (cup.active === null && cup.lot === null)) return null;
  return [cup.active, cup.lot === null ? null : `lot ${cup.lot}`].filter((part) => part !== null).join(', ');
}

export function resultToJson({ rules, rulings, efficacy, withoutOverrules }: VisitResult): VisitResultJson {
  return {
    ...efficacy,
    ...(withoutOverrules ? { withoutOverrules } : {}),
    rulings: { rules: rulesToJson(rules), cups: rulings.map(rulingToJson) },
  };
}
