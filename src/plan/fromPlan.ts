import type { RuleSet } from '../exposure/ruleSet.js';
import type { CarrierId, CupLabel, VisitId } from '../units/ids.js';
import { durationMs, type UtcMs } from '../units/time.js';
import { dayIn } from '../units/zone.js';
import { dueWindow } from '../visit/turnWindow.js';
import type { ReadyCup } from './planned.js';

/** What a store holds, as far as a plan is held against it. */
export interface Held {
  readonly visits: ReadonlyMap<VisitId, unknown>;
  readonly cups: ReadonlyMap<CupLabel, unknown>;
  readonly carriers: ReadonlyMap<CarrierId, unknown>;
}

/** What the opening of a visit takes from a plan. */
export interface VisitOfPlan {
  readonly yard: string;
  readonly zone: string;
  /** For the carriers of this store. */
  readonly cups: number;
  /** Null when the strips of the visit differ in it, or it is not told: it is then left to each cup. */
  readonly active: string | null;
  readonly lot: string | null;
  /** That it is not the day of the plan, and that cups are left to another vehicle: a sentence each; null when it is not so. */
  readonly otherDay: string | null;
  readonly otherVehicle: string | null;
}

/** Null when the plan has no such visit. */
export function visitOfPlan(
  cups: readonly ReadyCup[],
  visit: string | undefined,
  held: Pick<Held, 'carriers'>,
  now: UtcMs,
): VisitOfPlan | null {
  const own = cups.filter((cup) => cup.visit === visit);
  const [first] = own;
  if (first === undefined) return null;
  const strips = own.filter(({ kind }) => kind === 'strip');
  const only = (column: 'active' | 'lot'): string | null => {
    const all = new Set(strips.map((cup) => cup[column]));
    return all.size === 1 ? [...all][0]! : null;
  };
  const { yard, zone } = first;
  const here = ofThisVehicle(own, held);
  return {
    ...{ yard, zone, cups: here.length, active: only('active'), lot: only('lot') },
    otherDay: otherDay(own, now),
    otherVehicle: otherVehicle(own, here),
  };
}

/**
 * The cups for carriers of this store: of two vehicles with one plan each declares its own. All of them as long as the store
 * knows none of the carriers.
 */
function ofThisVehicle(cups: readonly ReadyCup[], { carriers }: Pick<Held, 'carriers'>): readonly ReadyCup[] {
  const here = cups.filter(({ carrier }) => carriers.has(carrier));
  return here.length === 0 ? cups : here;
}

function otherVehicle(cups: readonly ReadyCup[], here: readonly ReadyCup[]): string | null {
  const others = cups.filter((cup) => !here.includes(cup));
  if (others.length === 0) return null;
  const names = [...new Set(others.map(({ carrier }) => carrier))].join(', ');
  return `${others.length} of the ${cups.length} cups of visit ${cups[0]!.visit} are planned for carrier ${names}, which this store does not know: left to another vehicle, so ${here.length} are declared here.`;
}

function otherDay([first]: readonly ReadyCup[], now: UtcMs): string | null {
  const { visit, load, zone } = first!;
  const day = dayIn(load, zone);
  return day === dayIn(now, zone)
    ? null
    : `Visit ${visit} was planned for ${day}, and today is ${dayIn(now, zone)}: its labels will do, its times will not.`;
}

/** Why a visit of a plan is not to be opened with a rule set, as an end of a sentence; null when it is, or the plan has none such. */
export function notPlannedWith(
  cups: readonly ReadyCup[],
  visit: string | undefined,
  rules: RuleSet,
): string | null {
  const own = cups.filter((cup) => cup.visit === visit);
  if (own.length === 0) return null;
  const [planned, given] = [own[0]!.rules, `${rules.name} ${rules.version}`];
  if (planned !== given) return `was planned with rule set ${planned}, and would be opened with ${given}`;
  // A file may change the minutes and keep the name. A row changed by hand does not make a rule set.
  const isOfThese = ({ load, from, to }: ReadyCup): boolean => {
    const window = dueWindow({ load, loadWithin: durationMs(0) }, { rules });
    return window.from === from && window.to === to;
  };
  return own.some(isOfThese) ? null : `has other turn windows in the plan than rule set ${given} gives`;
}

/** The first visit of a plan that was not opened yet. */
export const nextVisitOfPlan = (
  cups: readonly ReadyCup[],
  { visits }: Pick<Held, 'visits'>,
): VisitId | null => cups.find(({ visit }) => !visits.has(visit))?.visit ?? null;

/** The first cup that a plan has for a visit, of those for this vehicle if there are any, and that was not loaded yet. */
export const nextCupOfPlan = (
  cups: readonly ReadyCup[],
  visit: string | undefined,
  held: Pick<Held, 'cups' | 'carriers'>,
): ReadyCup | null =>
  ofThisVehicle(
    cups.filter((cup) => cup.visit === visit),
    held,
  ).find(({ cup }) => !held.cups.has(cup)) ?? null;

/** What a plan says of the cup with a label. */
export const cupOfPlan = (cups: readonly ReadyCup[], label: string | undefined): ReadyCup | null =>
  cups.find((cup) => cup.cup === label) ?? null;
