import { inventedRom } from '../../src/emulator/scenarios/carriers.js';
import { createVehicle, type Ride } from '../../src/emulator/vehicle.js';
import type { Observation } from '../../src/exposure/types.js';
import { parseCarrierId, parseCupLabel, parseVisitId } from '../../src/units/ids.js';
import { type Celsius, fromSixteenths } from '../../src/units/temperature.js';
import { later, seconds, type UtcMs } from '../../src/units/time.js';
import { at, LOAD } from './traces.js';

const ROM = inventedRom([7, 0, 0, 1]);
const CUP = parseCupLabel('cup-1')!;
const CARRIER = parseCarrierId('A')!;

/** The ride of a cup of 300 bees, alone in its carrier; minutes are counted from its load. */
export interface OneRide {
  /** The cup's temperature, degC. */
  cup(minute: number): number;
  /** What its probe reports, in whole sixteenths. */
  read(minute: number): Celsius;
  /** The same every 10 s. */
  readings(from: number, to: number): Observation[];
}

export function oneRide(
  seated: number,
  draughtWattsPerKelvin: number,
  around: Omit<Ride, 'start' | 'carriers' | 'cups' | 'crew'>,
): OneRide {
  const visit = parseVisitId('v')!;
  const vehicle = createVehicle({
    start: LOAD,
    carriers: [{ carrier: CARRIER, slots: [{ slot: 1, rom: ROM, draughtWattsPerKelvin }] }],
    cups: [{ cup: CUP, bees: 300 }],
    crew: [
      { at: LOAD, does: 'load', visit, cup: CUP, kind: 'strip', colony: 'c', group: null },
      { at: at(seated), does: 'seat', cup: CUP, carrier: CARRIER, slot: 1 },
    ],
    ...around,
  });
  const reading = (instant: UtcMs) => fromSixteenths(Math.round(vehicle.probe(ROM, instant) * 16));
  return {
    cup: (minute) => vehicle.cup(CUP, at(minute)),
    read: (minute) => reading(at(minute)),
    readings: (from, to) => {
      const all: Observation[] = [];
      for (let instant = at(from); instant <= at(to); instant = later(instant, seconds(10)))
        all.push({ at: instant, celsius: reading(instant) });
      return all;
    },
  };
}
