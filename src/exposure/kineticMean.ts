import { type Celsius, celsius } from '../units/temperature.js';
import type { RuleSet } from './ruleSet.js';
import { layOut, type ObservationsOf } from './timeline.js';
import type { Exposure } from './types.js';

/** Activation energy over gas constant, 83.144 kJ/mol over 8.3144e-3 kJ/(mol K): 10000 K (USP 29, chapter 1160). */
const KELVIN_ACTIVATION = 10_000;
const KELVIN = 273.15;

/** A temperature and how long, or with what weight, it counts. */
export interface Weighted {
  readonly celsius: Celsius;
  readonly weight: number;
}

/**
 * Mean kinetic temperature (USP 29, chapter 1160): the constant temperature that ages a product as much as these did.
 * It weighs warmth, so it hides a cold spell: information, never a reason for a ruling. Null without weight.
 */
export function kineticMean(temperatures: readonly Weighted[]): Celsius | null {
  let weights = 0;
  let ageing = 0;
  for (const { celsius, weight } of temperatures) {
    weights += weight;
    ageing += weight * ageingAt(celsius);
  }
  return weights === 0 ? null : celsius(KELVIN_ACTIVATION / -Math.log(ageing / weights) - KELVIN);
}

/**
 * Mean kinetic temperature of an exposure over observed time, by the trapezoid on the exponentials; null when nothing
 * is observed.
 *
 * @throws {Refusal} as `judgeExposure`
 */
export function kineticMeanOf(
  { cup, load, turn, seatings }: Exposure,
  observationsOf: ObservationsOf,
  rules: RuleSet,
): Celsius | null {
  const timeline = layOut(cup, { from: load, to: turn }, seatings, observationsOf, rules.maxGapSeconds);
  return kineticMean(
    timeline.stretches.flatMap((stretch) => {
      if (stretch.kind === 'gap') return [];
      const weight = (stretch.to - stretch.from) / 2;
      return [
        { celsius: stretch.first, weight },
        { celsius: stretch.last, weight },
      ];
    }),
  );
}

const ageingAt = (degrees: Celsius): number => Math.exp(-KELVIN_ACTIVATION / (degrees + KELVIN));
