import type { CupLabel, VisitId } from '../units/ids.js';
import type { ReadyCup } from './planned.js';

/** What the opening of a visit takes from a plan. */
export interface VisitOfPlan {
  readonly yard: string;
  readonly zone: string;
  readonly cups: number;
  /** Null when the strips of the visit differ in it, or it is not told: it is then left to each cup. */
  readonly active: string | null;
  readonly lot: string | null;
  /** Name and version of the rule set its windows are from. */
  readonly rules: string;
}

/** Null when the plan has no such visit. */
export function visitOfPlan(cups: readonly ReadyCup[], visit: string | undefined): VisitOfPlan | null {
  const own = cups.filter((cup) => cup.visit === visit);
  const [first] = own;
  if (first === undefined) return null;
  const strips = own.filter(({ kind }) => kind === 'strip');
  const only = (column: 'active' | 'lot'): string | null => {
    const all = new Set(strips.map((cup) => cup[column]));
    return all.size === 1 ? [...all][0]! : null;
  };
  const { yard, zone, rules } = first;
  return { yard, zone, rules, cups: own.length, active: only('active'), lot: only('lot') };
}

/** The first visit of a plan that was not opened yet. */
export const nextVisitOfPlan = (
  cups: readonly ReadyCup[],
  visits: ReadonlyMap<VisitId, unknown>,
): VisitId | null => cups.find(({ visit }) => !visits.has(visit))?.visit ?? null;

/** The first cup that a plan has for a visit and that was not loaded yet. */
export const nextCupOfPlan = (
  cups: readonly ReadyCup[],
  visit: string | undefined,
  loaded: ReadonlyMap<CupLabel, unknown>,
): ReadyCup | null => cups.find((cup) => cup.visit === visit && !loaded.has(cup.cup)) ?? null;

/** What a plan says of a cup of that visit. */
export const cupOfPlan = (
  cups: readonly ReadyCup[],
  visit: string | undefined,
  label: string | undefined,
): ReadyCup | null => cups.find((cup) => cup.cup === label && cup.visit === visit) ?? null;
