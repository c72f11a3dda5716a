import type { ClusteredEfficacy } from './clusters.js';
import { normalCdf, tReach } from './quantiles.js';
import { type Bar, decide } from './verdict.js';

/** Beyond this many further cups no number is given. */
export const MORE_CUPS_MAX = 100;
/** The chance of a decision that the further cups must give. */
export const DECISION_CHANCE = 0.8;

/**
 * The chance that an interval from `clusters` clusters and `effectiveMites` excludes `line`, the future
 * estimate taken as normal around `p`. Wilson's limits exclude the line exactly when the estimate lies further
 * from it than t sqrt(line (1-line) / effectiveMites).
 */
export function decisionChance(
  p: number,
  clusters: number,
  effectiveMites: number,
  line: number,
  level: number,
): number {
  const distance = tReach(level, clusters) * Math.sqrt((line * (1 - line)) / effectiveMites);
  const error = Math.sqrt((p * (1 - p)) / effectiveMites);
  if (error === 0) return p - line >= distance || line - p > distance ? 1 : 0;
  return normalCdf((line - distance - p) / error) + normalCdf((p - line - distance) / error);
}

/**
 * The smallest number of further cups, each a new cluster, from which on the chance of a decision stays at
 * least 80 %, at the current efficacy, spread and mites a cup (of cups with mites), and that also reaches the
 * least cups and mites of a verdict. 0 when decided, null below two clusters and beyond 100.
 */
export function moreCups(
  now: ClusteredEfficacy,
  cupsWithMites: number,
  bar: Bar,
  level: number,
): number | null {
  const { efficacy, interval, k, mites, effectiveMites } = now;
  if (efficacy === null || interval === null) return null;
  const verdict = decide({ interval, cupsWithMites, mites }, bar);
  if (verdict === 'above-line' || verdict === 'below-line') return 0;

  const mitesPerCup = mites / cupsWithMites;
  const effectivePerMite = effectiveMites / mites;
  const least = Math.max(1, bar.minCups - cupsWithMites, Math.ceil((bar.minMites - mites) / mitesPerCup));
  let smallest: number | null = null;
  for (let further = MORE_CUPS_MAX; further >= least; further -= 1) {
    const effective = (mites + further * mitesPerCup) * effectivePerMite;
    if (decisionChance(efficacy, k + further, effective, bar.line, level) < DECISION_CHANCE) break;
    smallest = further;
  }
  return smallest;
}
