import { seededChance } from '../units/clock.js';
import type { CarrierId, CupLabel, RomId } from '../units/ids.js';
import { type Celsius, celsius } from '../units/temperature.js';
import { MS_PER_SECOND, type UtcMs } from '../units/time.js';
import { approach, type Neighbour, PHYSICS, type Physics, relax } from './physics.js';
import { fixedErrorOf, randomErrorOf } from './probeError.js';
import type { CrewAction, Vehicle } from './scenario.js';

/** What a run of the vehicle is made of. */
export interface Ride {
  readonly start: UtcMs;
  readonly end: UtcMs;
  /** Outside air, linear between the points and held beyond them; at least one, in order of time. */
  readonly outside: readonly { readonly at: UtcMs; readonly celsius: Celsius }[];
  /** When the cabin's heater is on, and what it is set to. */
  readonly heater: readonly { readonly from: UtcMs; readonly to: UtcMs; readonly celsius: Celsius }[];
  /** When a door stands open; never, if left out. */
  readonly doors?: readonly { readonly from: UtcMs; readonly to: UtcMs }[];
  /** Heat of the sun through the windows, W; none, if left out. */
  readonly sun?: readonly { readonly from: UtcMs; readonly to: UtcMs; readonly watts: number }[];
  /** Cabin, carriers and probes at the start: pre-warmed. */
  readonly startCelsius: Celsius;
  /** Carriers and probes at the start when they were not pre-warmed with the cabin. */
  readonly carrierStartCelsius?: Celsius;
  readonly carriers: readonly RideCarrier[];
  /** Every cup, with the bees whose heat warms it. */
  readonly cups: readonly { readonly cup: CupLabel; readonly bees: number }[];
  /** Of what the crew does, only load, seat, move, lift and turn matter here; in order of time. */
  readonly crew: readonly CrewAction[];
  /** Chooses the slots' differences, the probes' offsets and their noise. */
  readonly seed: number;
}

export interface RideCarrier {
  readonly carrier: CarrierId;
  readonly slots: readonly {
    readonly slot: number;
    readonly rom: RomId;
    /** Heat a cup here loses straight to the cabin's air, past the carrier, W/K; 0 in a tight slot. */
    readonly draughtWattsPerKelvin: number;
  }[];
}

/**
 * Runs the vehicle once, from start to end, and answers from that course, so that queries cost nothing,
 * may come in any order and are equal in every instance. Before the start the first temperatures hold,
 * after the end the last. A cup has its hive's warmth until it is loaded; once turned it has no bees and
 * stands in the outside air. A probe or cup that is not part of the ride is a RangeError.
 */
export function createVehicle(ride: Ride, physics: Physics = PHYSICS): Vehicle {
  const courses = integrate(ride, physics);
  const valueAt = (course: Float64Array, at: UtcMs): number => {
    const last = course.length - 1;
    const position = Math.min(Math.max((at - ride.start) / physics.stepMs, 0), last);
    const before = Math.floor(position);
    const from = course[before]!;
    return from + (course[Math.min(before + 1, last)]! - from) * (position - before);
  };
  return {
    probe(rom, at) {
      const course = courses.probes.get(rom);
      if (!course) throw new RangeError(`no probe ${rom} in this vehicle`);
      return celsius(
        valueAt(course, at) +
          fixedErrorOf(rom, physics.probeOffsetCelsiusMax) +
          randomErrorOf(ride.seed, rom, at, physics.probeNoiseCelsiusMax),
      );
    },
    cup(cup, at) {
      const course = courses.cups.get(cup);
      if (!course) throw new RangeError(`no cup ${cup} in this vehicle`);
      return celsius(valueAt(course, at));
    },
  };
}

interface Courses {
  readonly cups: ReadonlyMap<CupLabel, Float64Array>;
  readonly probes: ReadonlyMap<RomId, Float64Array>;
}

interface CarrierState {
  celsius: number;
  readonly slots: SlotState[];
}

interface SlotState {
  readonly carrier: CarrierId;
  readonly slot: number;
  readonly rom: RomId;
  readonly box: CarrierState;
  readonly wattsPerKelvin: number;
  readonly draughtWattsPerKelvin: number;
  seated: CupState | null;
  probeCelsius: number;
}

interface CupState {
  readonly cup: CupLabel;
  readonly watts: number;
  celsius: number;
  where: SlotState | 'hive' | 'hand' | 'turned';
}

/**
 * One pass over the ride. In each step every node heads for the balance of its neighbours by the exact
 * exponential, from the inside out: probes, cups, carriers, cabin. What the crew does counts from the first
 * step that begins at or after it.
 */
function integrate(ride: Ride, physics: Physics): Courses {
  const stepsAll = Math.ceil((ride.end - ride.start) / physics.stepMs);
  const stepSeconds = physics.stepMs / MS_PER_SECOND;
  const boxes = carrierStates(ride, physics);
  const slots = boxes.flatMap((box) => box.slots);
  const cups = cupStates(ride, physics);
  const cupCourses = new Map(cups.map(({ cup }) => [cup, new Float64Array(stepsAll + 1)]));
  const probeCourses = new Map(slots.map(({ rom }) => [rom, new Float64Array(stepsAll + 1)]));
  let cabin: number = ride.startCelsius;
  let done = 0;
  for (let step = 0; step <= stepsAll; step += 1) {
    const at = (ride.start + step * physics.stepMs) as UtcMs;
    for (const { cup, celsius } of cups) cupCourses.get(cup)![step] = celsius;
    for (const { rom, probeCelsius } of slots) probeCourses.get(rom)![step] = probeCelsius;
    for (; done < ride.crew.length && ride.crew[done]!.at <= at; done += 1)
      place(ride.crew[done]!, cups, slots);
    const outside = outsideAt(ride, at);
    for (const slot of slots) stepProbe(slot, stepSeconds, physics);
    for (const cup of cups) stepCup(cup, cabin, outside, stepSeconds, physics);
    for (const box of boxes) stepCarrier(box, cabin, stepSeconds, physics);
    cabin = cabinAfter(cabin, outside, cabinHeatAt(ride, at), stepSeconds, physics);
  }
  return { cups: cupCourses, probes: probeCourses };
}

function stepProbe(slot: SlotState, stepSeconds: number, physics: Physics): void {
  const air = (slot.seated ?? slot.box).celsius;
  slot.probeCelsius = approach(slot.probeCelsius, air, stepSeconds, physics.probeSeconds);
}

function stepCup(cup: CupState, cabin: number, outside: number, stepSeconds: number, physics: Physics): void {
  const { where } = cup;
  if (where === 'hive') return;
  const watts = where === 'turned' ? 0 : cup.watts;
  const neighbours: Neighbour[] =
    typeof where === 'string'
      ? [[physics.cupOutsideWattsPerKelvin, outside]]
      : [
          [where.wattsPerKelvin, where.box.celsius],
          [where.draughtWattsPerKelvin, cabin],
        ];
  cup.celsius = relax(cup.celsius, physics.cupJoulesPerKelvin, watts, neighbours, stepSeconds);
}

function stepCarrier(box: CarrierState, cabin: number, stepSeconds: number, physics: Physics): void {
  const neighbours: Neighbour[] = [[physics.carrierWattsPerKelvin, cabin]];
  for (const { seated, wattsPerKelvin } of box.slots)
    if (seated) neighbours.push([wattsPerKelvin, seated.celsius]);
  box.celsius = relax(box.celsius, physics.carrierJoulesPerKelvin, 0, neighbours, stepSeconds);
}

/** The carriers' heat is left out of the cabin's balance: it is a hundredth of the heater's. */
function cabinAfter(
  cabin: number,
  outside: number,
  { set, sunWatts, isOpen }: CabinHeat,
  stepSeconds: number,
  physics: Physics,
): number {
  const asked = set === null ? 0 : physics.heaterWattsPerKelvin * (set - cabin);
  const watts = Math.min(Math.max(asked, 0), physics.heaterWattsMax);
  const conductance = physics.cabinWattsPerKelvin + (isOpen ? physics.doorWattsPerKelvin : 0);
  return relax(cabin, physics.cabinJoulesPerKelvin, watts + sunWatts, [[conductance, outside]], stepSeconds);
}

interface CabinHeat {
  /** What the heater is set to, null when it is off. */
  readonly set: number | null;
  readonly sunWatts: number;
  readonly isOpen: boolean;
}

function cabinHeatAt(ride: Ride, at: UtcMs): CabinHeat {
  const holds = ({ from, to }: { readonly from: UtcMs; readonly to: UtcMs }) => from <= at && at < to;
  return {
    set: ride.heater.find(holds)?.celsius ?? null,
    sunWatts: ride.sun?.find(holds)?.watts ?? 0,
    isOpen: ride.doors?.some(holds) ?? false,
  };
}

/** Applies what the crew does to where the cups are; actions on paper change nothing here. */
function place(action: CrewAction, cups: readonly CupState[], slots: readonly SlotState[]): void {
  if (!('cup' in action) || action.does === 'count') return;
  const cup = cups.find((candidate) => candidate.cup === action.cup);
  if (!cup) throw new RangeError(`no cup ${action.cup} in this vehicle`);
  if (typeof cup.where !== 'string') cup.where.seated = null;
  if (action.does === 'seat' || action.does === 'move') {
    const slot = slots.find(({ carrier, slot }) => carrier === action.carrier && slot === action.slot);
    if (!slot) throw new RangeError(`no slot ${action.slot} in carrier ${action.carrier}`);
    if (slot.seated) throw new RangeError(`slot ${action.slot} of carrier ${action.carrier} is taken`);
    slot.seated = cup;
    cup.where = slot;
  } else {
    cup.where = action.does === 'turn' ? 'turned' : 'hand';
  }
}

function carrierStates(ride: Ride, physics: Physics): CarrierState[] {
  const chance = seededChance(ride.seed);
  return ride.carriers.map(({ carrier, slots }) => {
    const start = ride.carrierStartCelsius ?? ride.startCelsius;
    const box: CarrierState = { celsius: start, slots: [] };
    for (const { slot, rom, draughtWattsPerKelvin } of slots)
      box.slots.push({
        carrier,
        slot,
        rom,
        box,
        wattsPerKelvin: physics.cupWattsPerKelvin * (1 + physics.slotSpread * (2 * chance.uniform() - 1)),
        draughtWattsPerKelvin,
        seated: null,
        probeCelsius: start,
      });
    return box;
  });
}

function cupStates(ride: Ride, physics: Physics): CupState[] {
  return ride.cups.map(({ cup, bees }) => ({
    cup,
    watts: bees * physics.beeWatts,
    celsius: physics.hiveCelsius,
    where: 'hive',
  }));
}

function outsideAt(ride: Ride, at: UtcMs): number {
  const next = ride.outside.findIndex((point) => point.at > at);
  const after = ride.outside.at(next)!;
  const before = next > 0 ? ride.outside[next - 1]! : after;
  if (before === after) return after.celsius;
  return before.celsius + ((after.celsius - before.celsius) * (at - before.at)) / (after.at - before.at);
}
