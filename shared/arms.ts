import type { Share } from './clusters.js';
import { colonyOf, grouped, isRead, mitesOf, type ReadCup } from './entries.js';
import { tReach } from './quantiles.js';
import type { CupCount, Interval } from './types.js';

/** The difference of two arms of a yard, from the colonies that have cups in both. Arms are never pooled. */
export interface ArmDifference {
  readonly yard: string;
  readonly arms: readonly [string | null, string | null];
  /** Colonies with mites in valid read strip cups of both arms. */
  readonly pairedColonies: number;
  /** Pooled efficacy of each arm over the paired colonies alone; null below two. */
  readonly pairedEfficacies: readonly [number, number] | null;
  /** The first of these less the second; null below two paired colonies. */
  readonly difference: number | null;
  readonly interval: Interval | null;
  /** Colonies, and cups that name none, that are in one arm only: they count for nothing here. */
  readonly unpaired: readonly [number, number];
  readonly remarks: readonly string[];
}

/** Mites added to the fallen and to the surviving ones of an arm for the least variance. */
const ADDED_MITES = 1;

/** The variance of a share of as many independent mites, never 0 (Am Stat 2000 54: 280-288). */
function leastVariance({ part, whole }: Share): number {
  const trials = whole + 2 * ADDED_MITES;
  const share = (part + ADDED_MITES) / trials;
  return (share * (1 - share)) / trials;
}

const sumOf = (shares: readonly Share[]): Share => ({
  part: shares.reduce((sum, { part }) => sum + part, 0),
  whole: shares.reduce((sum, { whole }) => sum + whole, 0),
});

/**
 * The difference of two ratios over the same colonies, element i of both lists being colony i, every whole
 * above 0. Its variance is k/(k-1) sum (e_i)^2 with e_i = (T1_i - p1 N1_i)/N1 - (T2_i - p2 N2_i)/N2, so that
 * what a colony does to both arms cancels; it is not taken below that of as many independent mites. The
 * interval has t(k-1) and ends at -1 and 1. Null below two colonies.
 */
export function pairedDifference(
  first: readonly Share[],
  second: readonly Share[],
  level: number,
): {
  readonly shares: readonly [number, number];
  readonly difference: number;
  readonly interval: Interval;
} | null {
  const k = first.length;
  if (k < 2) return null;
  const [one, two] = [sumOf(first), sumOf(second)];
  const [p, q] = [one.part / one.whole, two.part / two.whole];
  const apart = ({ part, whole }: Share, ratio: number, total: number): number =>
    (part - ratio * whole) / total;
  const squares = first.reduce((sum, share, i) => {
    const partner = second[i] ?? { part: 0, whole: 0 };
    return sum + (apart(share, p, one.whole) - apart(partner, q, two.whole)) ** 2;
  }, 0);
  const variance = Math.max((k / (k - 1)) * squares, leastVariance(one) + leastVariance(two));
  const reach = tReach(level, k) * Math.sqrt(variance);
  const difference = p - q;
  return {
    shares: [p, q],
    difference,
    interval: [Math.max(-1, difference - reach), Math.min(1, difference + reach)],
  };
}

/** The colonies of an arm with mites, by name; a cup without a colony stands for itself and pairs with none. */
function coloniesOf(cups: readonly ReadCup[]): Map<string, Share> {
  const share = (cup: ReadCup): Share => ({ part: cup.tray, whole: mitesOf(cup) });
  return new Map([...grouped(cups, colonyOf)].map(([name, own]) => [name, sumOf(own.map(share))]));
}

const counts = (cup: CupCount): cup is ReadCup =>
  cup.kind === 'strip' && cup.ruling === 'valid' && isRead(cup) && mitesOf(cup) > 0;

/**
 * Every two arms of a yard compared, paired by colony, in order of first appearance. Each interval stands for
 * itself at `level`: with three arms or more, the chance that one of several misses is larger.
 */
export function armDifferences(
  cups: readonly CupCount[],
  levelOf: (yard: string) => number,
): ArmDifference[] {
  const strip = cups.filter(({ kind }) => kind === 'strip');
  return [...grouped(strip, ({ yard }) => yard)].flatMap(([yard, inYard]) => {
    const arms = [...grouped(inYard, ({ arm }) => arm)].map(([arm, ofArm]) => ({
      arm,
      colonies: coloniesOf(ofArm.filter(counts)),
    }));
    return arms.flatMap((one, i) => arms.slice(i + 1).map((two) => compare(yard, one, two, levelOf(yard))));
  });
}

/** An arm and the mites of its colonies, by name. */
interface Arm {
  readonly arm: string | null;
  readonly colonies: ReadonlyMap<string, Share>;
}

function compare(yard: string, first: Arm, second: Arm, level: number): ArmDifference {
  const [one, two] = [first.colonies, second.colonies];
  const paired = [...one.keys()].filter((name) => name.startsWith('colony ') && two.has(name));
  const of = (arm: ReadonlyMap<string, Share>): Share[] => paired.flatMap((name) => arm.get(name) ?? []);
  const result = pairedDifference(of(one), of(two), level);
  const unpaired = [one.size - paired.length, two.size - paired.length] as const;
  return {
    yard,
    arms: [first.arm, second.arm],
    pairedColonies: paired.length,
    pairedEfficacies: result?.shares ?? null,
    difference: result?.difference ?? null,
    interval: result?.interval ?? null,
    unpaired,
    remarks: pairRemarks(result === null, unpaired),
  };
}

function pairRemarks(unknown: boolean, [first, second]: readonly [number, number]): string[] {
  const remarks: string[] = [];
  if (unknown)
    remarks.push(
      'fewer than two colonies have mites in both arms: the arms cannot be compared within colonies',
    );
  if (first + second > 0)
    remarks.push(
      `not compared, being in one arm only: ${first} and ${second} colonies (a cup that names none stands for one)`,
    );
  return remarks;
}
