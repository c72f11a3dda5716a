import { wilson } from './proportion.js';
import { tReach } from './quantiles.js';
import type { Interval } from './types.js';

/** A part of a whole: mites on the tray of all mites, or mites of bees. */
export interface Share {
  readonly part: number;
  readonly whole: number;
}

/** The shares added up by the name of their cluster, in order of first appearance. */
export function clusterSums<Item>(
  items: readonly Item[],
  clusterOf: (item: Item, index: number) => string,
  shareOf: (item: Item) => Share,
): Share[] {
  const sums = new Map<string, Share>();
  items.forEach((item, index) => {
    const name = clusterOf(item, index);
    const before = sums.get(name) ?? { part: 0, whole: 0 };
    const { part, whole } = shareOf(item);
    sums.set(name, { part: before.part + part, whole: before.whole + whole });
  });
  return [...sums.values()];
}

/** A ratio of sums over clusters and the variance of that ratio, from the spread between the clusters. */
export interface ClusteredRatio {
  /** Clusters whose whole is above 0. */
  readonly k: number;
  readonly part: number;
  readonly whole: number;
  /** Null when the whole is 0. */
  readonly ratio: number | null;
  /** Null below two clusters. */
  readonly variance: number | null;
}

/**
 * The ratio estimator over clusters: r = sum(part) / sum(whole), variance
 * k/(k-1) sum((part - r whole)^2) / sum(whole)^2. Clusters with an empty whole do not count.
 */
export function clusteredRatio(clusters: readonly Share[]): ClusteredRatio {
  const filled = clusters.filter(({ whole }) => whole > 0);
  const k = filled.length;
  const part = filled.reduce((sum, cluster) => sum + cluster.part, 0);
  const whole = filled.reduce((sum, cluster) => sum + cluster.whole, 0);
  if (k === 0) return { k, part, whole, ratio: null, variance: null };
  const ratio = part / whole;
  if (k === 1) return { k, part, whole, ratio, variance: null };
  const squares = filled.reduce((sum, cluster) => sum + (cluster.part - ratio * cluster.whole) ** 2, 0);
  return { k, part, whole, ratio, variance: ((k / (k - 1)) * squares) / whole ** 2 };
}

/** Efficacy pooled over clusters of cups. */
export interface ClusteredEfficacy {
  /** Clusters with mites. */
  readonly k: number;
  readonly tray: number;
  readonly mites: number;
  readonly efficacy: number | null;
  /**
   * How many times the variance exceeds that of as many independent mites, raw (it may lie below 1); null
   * below two clusters and when all or none fell, where no spread can be seen.
   */
  readonly designEffect: number | null;
  /** Independent mites that would tell as much: mites / max(1, designEffect). */
  readonly effectiveMites: number;
  /** Wilson's limits on the effective mites with t(k-1) in place of z; null below two clusters. */
  readonly interval: Interval | null;
}

/**
 * Pools clusters of cups, `part` the mites on the tray and `whole` all mites, allowing for the spread between
 * clusters: the effective sample size of "A simple method for the analysis of clustered binary data",
 * Biometrics 1992 48: 577-585.
 */
export function clusteredEfficacy(clusters: readonly Share[], level: number): ClusteredEfficacy {
  const { k, part: tray, whole: mites, ratio: efficacy, variance } = clusteredRatio(clusters);
  const binomial = efficacy === null ? 0 : (efficacy * (1 - efficacy)) / mites;
  const designEffect = variance === null || binomial === 0 ? null : variance / binomial;
  const effectiveMites = mites / Math.max(1, designEffect ?? 1);
  const interval = efficacy === null || k < 2 ? null : wilson(efficacy, effectiveMites, tReach(level, k));
  return { k, tray, mites, efficacy, designEffect, effectiveMites, interval };
}
