import { type Celsius, celsius } from '../units/temperature.js';

/**
 * Resistance thermometers of semiconducting oxide (NTC). Resistances in ohm, temperatures in degrees Celsius; the
 * formulas work in kelvin.
 */
const KELVIN = 273.15;
const KELVIN_25 = 298.15;

/** 1/T = a + b ln R + c (ln R)^3, with R in ohm and T in kelvin (Steinhart and Hart). */
export interface SteinhartHart {
  readonly a: number;
  readonly b: number;
  readonly c: number;
}

/** R = r25 exp(beta (1/T - 1/298.15 K)): good near 25 degC only, up to a degree off at 0. */
export interface Beta {
  readonly r25: number;
  readonly beta: number;
}

/** 1/T = a + b ln q + c (ln q)^2 + d (ln q)^3, with q = R / R25, as makers publish it. */
export interface RatioCurve {
  readonly r25: number;
  readonly a: number;
  readonly b: number;
  readonly c: number;
  readonly d: number;
}

/** @throws {RangeError} when the resistance is not above 0 */
export function steinhartHartCelsius(ohm: number, { a, b, c }: SteinhartHart): Celsius {
  const ln = logOf(ohm);
  return celsius(1 / (a + b * ln + c * ln ** 3) - KELVIN);
}

/** @throws {RangeError} when the resistance is not above 0 */
export const betaCelsius = (ohm: number, { r25, beta }: Beta): Celsius =>
  celsius(1 / (1 / KELVIN_25 + logOf(ohm / r25) / beta) - KELVIN);

/** The resistance, ohm, of a part that follows the beta formula exactly. */
export const betaOhm = (degrees: Celsius, { r25, beta }: Beta): number =>
  r25 * Math.exp(beta * (1 / (degrees + KELVIN) - 1 / KELVIN_25));

/** @throws {RangeError} when the resistance is not above 0 */
export function ratioCelsius(ohm: number, { r25, a, b, c, d }: RatioCurve): Celsius {
  const ln = logOf(ohm / r25);
  return celsius(1 / (a + b * ln + c * ln ** 2 + d * ln ** 3) - KELVIN);
}

/** A point of a part's resistance table. */
export interface TablePoint {
  readonly ohm: number;
  readonly celsius: Celsius;
}

/**
 * The Steinhart-Hart curve through three points of a part's table, best taken at both ends and in the middle of use.
 *
 * @throws {RangeError} when two points have one resistance, or a resistance is not above 0
 */
export function steinhartHartThrough(points: readonly [TablePoint, TablePoint, TablePoint]): SteinhartHart {
  const [l1, l2, l3] = points.map(({ ohm }) => logOf(ohm)) as [number, number, number];
  const [y1, y2, y3] = points.map(({ celsius }) => 1 / (celsius + KELVIN)) as [number, number, number];
  if (l1 === l2 || l1 === l3 || l2 === l3) throw new RangeError('three different resistances are needed');
  const g2 = (y2 - y1) / (l2 - l1);
  const g3 = (y3 - y1) / (l3 - l1);
  const c = (g3 - g2) / (l3 - l2) / (l1 + l2 + l3);
  const b = g2 - c * (l1 ** 2 + l1 * l2 + l2 ** 2);
  return { a: y1 - (b + l1 ** 2 * c) * l1, b, c };
}

/** The beta of a part from two points of its table, kelvin. */
export const betaBetween = (one: TablePoint, other: TablePoint): number =>
  logOf(one.ohm / other.ohm) / (1 / (one.celsius + KELVIN) - 1 / (other.celsius + KELVIN));

function logOf(ratio: number): number {
  if (!(ratio > 0)) throw new RangeError(`a resistance must be above 0, not ${ratio}`);
  return Math.log(ratio);
}
