import { armDifferences } from './arms.js';
import { fitBetaBinomial } from './betaBinomial.js';
import { type ClusteredEfficacy, clusteredEfficacy, clusterSums, type Share } from './clusters.js';
import { abbott, type Counts, correctForRecovery, recoveryShare } from './corrections.js';
import { colonyOf, type Entry, entriesOf, isRead, mitesOf, motherLines, type ReadCup } from './entries.js';
import { clusteredInfestation, colonyInfestation, PER_BEES } from './infestation.js';
import { checkCups, type Settings, settle } from './input.js';
import { type Looks, levelOfLook } from './looks.js';
import { moreCups } from './moreCups.js';
import { clopperPearson, jeffreys, wilsonCounts } from './proportion.js';
import { cupRemarks, entryRemarks } from './remarks.js';
import type {
  AllCups,
  ByGroup,
  Control,
  CupCount,
  CupEntry,
  CupTally,
  EfficacyOptions,
  EfficacyReport,
  Recovery,
  RecoveryResult,
  YardEntry,
} from './types.js';
import { decide } from './verdict.js';

/**
 * Efficacy and infestation of every yard and arm, and of every cup. Efficacies are shares from 0 to 1 of the
 * mites in a cup that fell within the exposure; infestation is mites per 100 bees. Pure: the same cups and
 * options give the same report. Throws a CountError for counts that cannot be or a cup named twice in its
 * yard, and a RangeError for an option that cannot be. Formulas and sources: README.md beside this file.
 */
export function efficacyReport(cups: readonly CupCount[], options: EfficacyOptions = {}): EfficacyReport {
  const settings = settle(options);
  checkCups(cups);
  const differences = armDifferences(cups, (yard) => levelFor(yard, settings));
  return {
    level: settings.level,
    yards: entriesOf(cups).map((entry) => yardEntry(entry, settings)),
    cups: cups.map((cup) => cupEntry(cup, settings.level)),
    ...(differences.length === 0 ? {} : { armDifferences: differences }),
  };
}

/** The level of every interval of a yard's efficacy: its looks share what `level` leaves out. */
const levelFor = (yard: string, { level, looksOf }: Settings): number => levelOfLook(level, looksOf(yard));

function cupEntry(cup: CupCount, level: number): CupEntry {
  const read = isRead(cup) ? cup : null;
  const mites = read === null ? 0 : mitesOf(read);
  const fallen = read !== null && read.kind === 'strip' && mites > 0 ? read.tray : null;
  return {
    yard: cup.yard,
    cup: cup.cup,
    efficacy: fallen === null ? null : fallen / mites,
    wilson: fallen === null ? null : wilsonCounts(fallen, mites, level),
    clopperPearson: fallen === null ? null : clopperPearson(fallen, mites, level),
    jeffreys: fallen === null ? null : jeffreys(fallen, mites, level),
    per100: read === null || !cup.bees ? null : (PER_BEES * mites) / cup.bees,
    remarks: cupRemarks(cup),
  };
}

const fallenOf = (cup: ReadCup): Share => ({ part: cup.tray, whole: mitesOf(cup) });

/** Strip cups that were read and held mites, pooled by colony. */
function pool(cups: readonly ReadCup[], level: number): ClusteredEfficacy {
  return clusteredEfficacy(clusterSums(cups, colonyOf, fallenOf), level);
}

function yardEntry(entry: Entry, settings: Settings): YardEntry {
  const { line } = settings;
  const level = levelFor(entry.yard, settings);
  const count = settings.looksOf(entry.yard);
  const looks: Looks | null = count === 1 ? null : { count, level };
  const valid = entry.strip.filter(({ ruling }) => ruling === 'valid');
  const used = valid.filter(isRead).filter((cup) => mitesOf(cup) > 0);
  const pooled = pool(used, level);
  const { efficacy, mites, tray, interval } = pooled;
  const known = efficacy !== null;
  const recovery = recoveryResult(pooled, settings.recovery, level);
  const figures: Omit<YardEntry, 'remarks'> = {
    yard: entry.yard,
    arm: entry.arm,
    verdict: decide({ interval, cupsWithMites: used.length, mites }, settings),
    efficacy,
    interval,
    designEffect: pooled.designEffect,
    effectiveMites: pooled.effectiveMites,
    cups: tallyOf(entry.strip),
    tray,
    wash: mites - tray,
    naiveInterval: known ? wilsonCounts(tray, mites, level) : null,
    meanOfCups: known ? used.reduce((sum, cup) => sum + cup.tray / mitesOf(cup), 0) / used.length : null,
    betaBinomial: fitBetaBinomial(used.map(fallenOf)),
    byGroup: byMotherLine(entry.strip, used, level),
    moreCups: moreCups(pooled, used.length, settings, level),
    allCups: everyCup(entry.strip, settings, level),
    control: controlOf(entry.noStrip, used, level),
    infestation: infestationOf(entry, settings.level),
    ...(recovery === null ? {} : { recovery }),
    ...(looks === null ? {} : { looks }),
  };
  const facts = {
    figures,
    line,
    clusters: pooled.k,
    cupsWithMites: used.length,
    coolCups: used.filter(({ cool }) => cool).length,
    upperPer100WithoutMites: upperWithoutMites(entry, settings.level),
  };
  return { ...figures, remarks: entryRemarks(facts) };
}

function tallyOf(strip: readonly CupCount[]): CupTally {
  const valid = strip.filter(({ ruling }) => ruling === 'valid');
  const read = valid.filter(isRead);
  return {
    valid: valid.length,
    excluded: strip.length - valid.length,
    unread: valid.length - read.length,
    empty: read.filter((cup) => mitesOf(cup) === 0).length,
  };
}

function byMotherLine(strip: readonly CupCount[], used: readonly ReadCup[], level: number): ByGroup | null {
  const lineOf = motherLines(strip);
  if (lineOf === null || used.length === 0) return null;
  const { k, designEffect, interval } = clusteredEfficacy(clusterSums(used, lineOf, fallenOf), level);
  return { k, designEffect, interval };
}

function everyCup(strip: readonly CupCount[], settings: Settings, level: number): AllCups {
  const cups = strip.filter(isRead).filter((cup) => cup.ruling !== 'spoiled' && mitesOf(cup) > 0);
  const { efficacy, interval, mites } = pool(cups, level);
  return { efficacy, interval, verdict: decide({ interval, cupsWithMites: cups.length, mites }, settings) };
}

function countsOf(cups: readonly ReadCup[]): Counts {
  return {
    tray: cups.reduce((sum, { tray }) => sum + tray, 0),
    wash: cups.reduce((sum, { wash }) => sum + wash, 0),
  };
}

function controlOf(noStrip: readonly CupCount[], used: readonly ReadCup[], level: number): Control | null {
  const cups = noStrip.filter(isRead).filter(({ ruling }) => ruling === 'valid');
  if (cups.length === 0) return null;
  const counts = countsOf(cups);
  const mites = counts.tray + counts.wash;
  return {
    cups: cups.length,
    ...counts,
    fall: mites === 0 ? null : counts.tray / mites,
    fallInterval: mites === 0 ? null : wilsonCounts(counts.tray, mites, level),
    ...abbott(countsOf(used), counts, level),
  };
}

function recoveryResult(
  pooled: ClusteredEfficacy,
  recovery: Recovery | null,
  level: number,
): RecoveryResult | null {
  if (recovery === null) return null;
  const { q, interval } = recoveryShare(recovery, level);
  return { q, qInterval: interval, ...correctForRecovery(pooled.efficacy, pooled.interval, q, interval) };
}

/** The cups that count for infestation, whatever their ruling: read, not spoiled, with bees. */
function countedForInfestation(entry: Entry): ReadCup[] {
  return [...entry.strip, ...entry.noStrip]
    .filter(isRead)
    .filter(({ ruling, bees }) => ruling !== 'spoiled' && bees !== null && bees > 0);
}

const mitesOnBees = (cup: ReadCup): Share => ({ part: mitesOf(cup), whole: cup.bees ?? 0 });

function infestationOf(entry: Entry, level: number): YardEntry['infestation'] {
  return clusteredInfestation(clusterSums(countedForInfestation(entry), colonyOf, mitesOnBees), level);
}

/** The upper limit of mites per 100 bees when none was found on all the bees counted. */
function upperWithoutMites(entry: Entry, level: number): number | null {
  const bees = countedForInfestation(entry).reduce((sum, cup) => sum + (cup.bees ?? 0), 0);
  return bees === 0 ? null : (colonyInfestation(0, bees, 0, level).interval?.[1] ?? null);
}
