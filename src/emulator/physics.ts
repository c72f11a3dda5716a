import { MS_PER_SECOND } from '../units/time.js';

/**
 * The physical constants of the vehicle. None is measured on a vehicle: they are chosen so that times and
 * temperatures are of the right order, and nothing outside this emulator may be concluded from them.
 */
export interface Physics {
  /** Length of one step of the integration, ms. Far below every time constant. */
  readonly stepMs: number;
  /** Heat capacity of the cabin's air and linings, J/K (assumed). */
  readonly cabinJoulesPerKelvin: number;
  /** Heat the moving cabin loses to the outside air, W/K (assumed). */
  readonly cabinWattsPerKelvin: number;
  /** What it loses besides while a door stands open, W/K (assumed). */
  readonly doorWattsPerKelvin: number;
  /** What the heater gives per degree that the cabin is short of the set temperature, W/K (assumed). */
  readonly heaterWattsPerKelvin: number;
  /** The most the heater gives, W (assumed). */
  readonly heaterWattsMax: number;
  /** Heat capacity of a carrier, about 3 kg of plastic and foam at 1.7 J/(g K), J/K (computed from assumed). */
  readonly carrierJoulesPerKelvin: number;
  /** Heat a closed, lined carrier loses to the cabin, W/K (assumed). */
  readonly carrierWattsPerKelvin: number;
  /** Heat capacity of a cup: 30 g of bees at 3.5 J/(g K) and 10 g of cup at 1.5, J/K (computed from memory). */
  readonly cupJoulesPerKelvin: number;
  /** Heat a seated cup loses to its carrier's air, W/K (assumed). */
  readonly cupWattsPerKelvin: number;
  /** Largest share by which a slot's conductance differs from that, either way (assumed). */
  readonly slotSpread: number;
  /** Heat a cup in the hand loses to the outside air, W/K (assumed). */
  readonly cupOutsideWattsPerKelvin: number;
  /** Heat of one caged worker bee, W: about a milliwatt, so 300 bees give 0.3 W (from memory, order only). */
  readonly beeWatts: number;
  /** Air of a cup at the instant its bees are loaded, degC: the brood nest less what brushing costs (assumed). */
  readonly hiveCelsius: number;
  /** Time constant of a bare sensor in a cup's still air, s: between 3 and 5.4 min (computed, h assumed). */
  readonly probeSeconds: number;
  /** Largest fixed error of a probe, either way, degC: inside the +-0.5 degC of the datasheet (assumed). */
  readonly probeOffsetCelsiusMax: number;
  /** Largest random error of one conversion, either way, degC: half a sixteenth (assumed). */
  readonly probeNoiseCelsiusMax: number;
}

export const PHYSICS: Physics = {
  stepMs: 5 * MS_PER_SECOND,
  cabinJoulesPerKelvin: 40_000,
  cabinWattsPerKelvin: 40,
  doorWattsPerKelvin: 200,
  heaterWattsPerKelvin: 400,
  heaterWattsMax: 1500,
  carrierJoulesPerKelvin: 5000,
  carrierWattsPerKelvin: 0.6,
  cupJoulesPerKelvin: 120,
  cupWattsPerKelvin: 0.07,
  slotSpread: 0.1,
  cupOutsideWattsPerKelvin: 0.15,
  beeWatts: 0.001,
  hiveCelsius: 32,
  probeSeconds: 240,
  probeOffsetCelsiusMax: 0.3,
  probeNoiseCelsiusMax: 0.03,
};

/** First-order approach: where `from` has got to after `elapsed`, heading for a constant `target`; exact. */
export function approach(from: number, target: number, elapsedSeconds: number, timeConstantSeconds: number) {
  return target + (from - target) * Math.exp(-elapsedSeconds / timeConstantSeconds);
}

/** A neighbour of a node: the conductance between the two, W/K, and its temperature, degC. */
export type Neighbour = readonly [wattsPerKelvin: number, celsius: number];

/** A node's temperature after a step with heat of its own, its neighbours' temperatures held. */
export function relax(
  from: number,
  joulesPerKelvin: number,
  watts: number,
  neighbours: readonly Neighbour[],
  stepSeconds: number,
): number {
  let conductance = 0;
  let inflow = watts;
  for (const [wattsPerKelvin, celsius] of neighbours) {
    conductance += wattsPerKelvin;
    inflow += wattsPerKelvin * celsius;
  }
  return approach(from, inflow / conductance, stepSeconds, joulesPerKelvin / conductance);
}
