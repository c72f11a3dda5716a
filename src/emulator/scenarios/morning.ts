import { type Chance, seededChance } from '../../units/clock.js';
import { type CupLabel, parseCupLabel, parseVisitId, parseYardCode, type VisitId } from '../../units/ids.js';
import { celsius } from '../../units/temperature.js';
import { durationMs, later, MS_PER_MINUTE, minutes, parseInstant, type UtcMs } from '../../units/time.js';
import { drawFall, drawMites, fallChance } from '../mites.js';
import type { CrewAction, ProbeFault, Scenario, Vehicle } from '../scenario.js';
import { createVehicle, type Ride } from '../vehicle.js';
import { carrierOf, probeIn } from './carriers.js';

/** A place in the vehicle. */
export interface Spot {
  readonly carrier: 'A' | 'B';
  readonly slot: number;
}

/** What distinguishes one invented morning from another; times are 'HH:MM' on the crew's watches. */
export interface MorningPlan {
  readonly name: string;
  readonly summary: string;
  /** The day, YYYY-MM-DD. */
  readonly day: string;
  readonly from: string;
  readonly to: string;
  /** From then on nothing is done to the cups: people practise. They stay where they are, whatever is entered. */
  readonly handover?: string;
  readonly seed: number;
  /** Outside air, degC, linear between the points. */
  readonly outside: readonly (readonly [at: string, degrees: number])[];
  /** The heater: on from, on to, set to degC. */
  readonly heater: readonly (readonly [from: string, to: string, degrees: number])[];
  /** What carriers, probes and cabin were warmed to before the first load, degC. */
  readonly startDegrees: number;
  /** Slots on a draughty side, and the heat a cup there loses straight to the cabin, W/K. */
  readonly draughts: readonly (Spot & { readonly wattsPerKelvin: number })[];
  readonly looseLeads: readonly (Spot & { readonly from: string; readonly to: string })[];
  readonly visits: readonly VisitPlan[];
  /** Cups moved during the ride, named by where they were seated at first. */
  readonly moves: readonly { readonly at: string; readonly from: Spot; readonly to: Spot }[];
}

export interface VisitPlan {
  readonly yard: string;
  readonly lot: string;
  readonly carrier: 'A' | 'B';
  readonly opened: string;
  readonly firstLoad: string;
  /** When the first tray and wash are written down. */
  readonly firstCount: string;
  readonly closed: string;
  /** One cup a slot, in the order of slots. */
  readonly cups: readonly CupPlan[];
}

export interface CupPlan {
  readonly kind: 'strip' | 'no-strip';
  readonly colony: string;
  readonly group: string | null;
}

/**
 * Ten cups from five colonies, named with their mother lines: one cup of each goes into slots 1 to 5, the
 * other into 6 to 10, so that a colony rides on both sides of its carrier. The very last has no strip.
 */
export function twoCupsEach(colonies: readonly (readonly [colony: string, group: string])[]): CupPlan[] {
  const side = colonies.map(([colony, group]): CupPlan => ({ kind: 'strip', colony, group }));
  const last = side.at(-1)!;
  return [...side, ...side.slice(0, -1), { ...last, kind: 'no-strip' }];
}

/** The zone of every scenario: a fixed offset, so that no place is meant. */
export const ZONE = 'Etc/GMT+5';
const OFFSET = '-05:00';

const LOAD_EVERY = minutes(2);
const COUNT_EVERY = minutes(1);
/** The bees of one cup: a half-cup scoop gives about 300, with a spread of about 10 % (common practice, no source). */
const BEES_MEAN = 300;
const BEES_CV = 0.1;
const COURSE_STEP = minutes(0.5);

/** A cup with all that is known of it before the ride. */
interface PlannedCup extends CupPlan {
  readonly visit: VisitId;
  readonly cup: CupLabel;
  readonly spot: Spot;
  readonly bees: number;
  readonly load: UtcMs;
  readonly seat: UtcMs;
  readonly turn: UtcMs;
  readonly count: UtcMs;
}

/** Makes the scenario: plans what the crew does, runs the vehicle once, and lets mites fall accordingly. */
export function morning(plan: MorningPlan): Scenario {
  const at = (time: string): UtcMs => instant(plan.day, time);
  const chance = seededChance(plan.seed);
  const cups = plan.visits.flatMap((visit, i) => plannedCups(plan, visit, i, chance));
  const handover = plan.handover === undefined ? null : at(plan.handover);
  const isOurs = (action: CrewAction) => handover === null || action.at < handover;
  const handling = inOrder([...cups.flatMap(handlingOf), ...movesOf(plan, cups)]).filter(isOurs);
  const faults = (name: 'A' | 'B'): ProbeFault[] =>
    plan.looseLeads
      .filter(({ carrier }) => carrier === name)
      .map(({ slot, from, to }) => ({
        rom: probeIn(name, slot),
        from: at(from),
        to: at(to),
        fault: 'loose-lead',
      }));
  const carriers = (['A', 'B'] as const).map((name) => carrierOf(name, faults(name)));
  const ride: Ride = {
    start: at(plan.from),
    end: at(plan.to),
    outside: plan.outside.map(([time, degrees]) => ({ at: at(time), celsius: celsius(degrees) })),
    heater: plan.heater.map(([from, to, degrees]) => ({
      from: at(from),
      to: at(to),
      celsius: celsius(degrees),
    })),
    startCelsius: celsius(plan.startDegrees),
    carriers: carriers.map(({ carrier, slots }) => ({
      carrier,
      slots: slots.map(({ slot, rom }) => ({
        slot,
        rom,
        draughtWattsPerKelvin:
          plan.draughts.find((d) => d.carrier === carrier && d.slot === slot)?.wattsPerKelvin ?? 0,
      })),
    })),
    cups,
    crew: handling,
    seed: plan.seed,
  };
  const vehicle = () => createVehicle(ride);
  const counts = countsOf(cups, vehicle(), chance);
  const papers = plan.visits.flatMap((visit) => paperOf(plan, visit));
  const crew = inOrder([...papers, ...handling, ...counts]).filter(isOurs);
  return {
    name: plan.name,
    summary: plan.summary,
    start: ride.start,
    end: ride.end,
    carriers,
    ...(handover === null ? {} : { handover }),
    crew,
    vehicle,
  };
}

const instant = (day: string, time: string): UtcMs => {
  const parsed = parseInstant(`${day}T${time}:00${OFFSET}`);
  if (parsed === null) throw new RangeError(`${day} ${time} is not a day and a time HH:MM`);
  return parsed;
};

const visitId = (plan: MorningPlan, { yard }: VisitPlan): VisitId => parseVisitId(`${yard}-${plan.day}`)!;

/** A stretch of time between two bounds, whole fives of seconds. */
const drawBetween = (chance: Chance, from: number, to: number) =>
  durationMs(Math.round((from + (to - from) * chance.uniform()) * 12) * 5000);

/** Normal by the sum of twelve uniform draws (standard deviation 1). */
const drawNormal = (chance: Chance): number =>
  Array.from({ length: 12 }, () => chance.uniform()).reduce((sum, draw) => sum + draw, -6);

function plannedCups(plan: MorningPlan, visit: VisitPlan, visitIndex: number, chance: Chance): PlannedCup[] {
  return visit.cups.map((cup, i) => {
    const load = later(instant(plan.day, visit.firstLoad), durationMs(i * LOAD_EVERY));
    return {
      ...cup,
      visit: visitId(plan, visit),
      cup: parseCupLabel(
        `${plan.day.replaceAll('-', '').slice(2)}-${String(visitIndex * 50 + i + 1).padStart(2, '0')}`,
      )!,
      spot: { carrier: visit.carrier, slot: i + 1 },
      bees: Math.round(BEES_MEAN * (1 + BEES_CV * drawNormal(chance))),
      load,
      seat: later(load, drawBetween(chance, 1, 3)),
      turn: later(load, drawBetween(chance, 178, 184)),
      count: later(instant(plan.day, visit.firstCount), durationMs(i * COUNT_EVERY)),
    };
  });
}

function handlingOf(planned: PlannedCup): CrewAction[] {
  const { visit, cup, kind, colony, group, spot } = planned;
  const carrier = carrierOf(spot.carrier, []).carrier;
  return [
    { at: planned.load, does: 'load', visit, cup, kind, colony, group },
    { at: planned.seat, does: 'seat', cup, carrier, slot: spot.slot },
    { at: planned.turn, does: 'turn', cup },
  ];
}

function movesOf(plan: MorningPlan, cups: readonly PlannedCup[]): CrewAction[] {
  return plan.moves.map(({ at, from, to }) => {
    const moved = cups.find(({ spot }) => spot.carrier === from.carrier && spot.slot === from.slot)!;
    const { carrier } = carrierOf(to.carrier, []);
    return { at: instant(plan.day, at), does: 'move', cup: moved.cup, carrier, slot: to.slot };
  });
}

function countsOf(cups: readonly PlannedCup[], vehicle: Vehicle, chance: Chance): CrewAction[] {
  return cups.map(({ cup, kind, bees, load, turn, count }) => {
    const course: number[] = [];
    for (let at = load; at < turn; at = later(at, COURSE_STEP)) course.push(vehicle.cup(cup, at));
    const fall = fallChance(kind, course, COURSE_STEP / (60 * MS_PER_MINUTE));
    return { at: count, does: 'count', cup, ...drawFall(drawMites(chance), fall, chance), bees };
  });
}

function paperOf(plan: MorningPlan, visit: VisitPlan): CrewAction[] {
  const id = visitId(plan, visit);
  return [
    {
      at: instant(plan.day, visit.opened),
      does: 'open-visit',
      visit: id,
      yard: parseYardCode(visit.yard)!,
      zone: ZONE,
      active: 'amitraz',
      lot: visit.lot,
      declaredCups: visit.cups.length,
    },
    { at: instant(plan.day, visit.closed), does: 'close-visit', visit: id },
  ];
}

const inOrder = (actions: readonly CrewAction[]): CrewAction[] =>
  actions.toSorted((one, other) => one.at - other.at);
