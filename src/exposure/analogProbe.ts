import { type Celsius, type CelsiusDifference, celsius, celsiusDifference } from '../units/temperature.js';
import { type SteinhartHart, steinhartHartCelsius } from './thermistor.js';

/**
 * Probes whose voltage a converter (ADC) measures against its reference. Pure. What the converter gives is a share of
 * the reference: 0 at ground, 1 at the reference itself.
 */
export type AnalogProbe = VoltageProbe | Thermistor;

/** A part that gives a voltage of its own, so that every error of the reference is an error of the temperature. */
export interface VoltageProbe {
  readonly part: 'TMP36' | 'LM35';
  /** The voltage of the reference, and how far it may be off, either way, percent. */
  readonly referenceVolts: number;
  readonly referencePercent: number;
}

/** A thermistor and a resistor between reference and ground: the reference does not count. */
export interface Thermistor {
  readonly part: 'thermistor';
  readonly curve: SteinhartHart;
  readonly seriesOhm: number;
  /** Where the thermistor is; the resistor is at the other end. */
  readonly side: 'ground' | 'supply';
  /** How far the thermistor and the resistor may be off their values, either way, percent. */
  readonly thermistorPercent: number;
  readonly seriesPercent: number;
}

/** 10 mV for each degree; what they give at 0 degC, volts (datasheets of both). */
const VOLTS_PER_DEGREE = 0.01;
const VOLTS_AT_ZERO = { TMP36: 0.5, LM35: 0 };
/**
 * Limits of error by the makers: TMP36 +-2 degC over its range (Rev F), LM35D +-1.5 degC at 25 degC (the loosest
 * grade sold).
 */
const PART_LIMIT = { TMP36: 2, LM35: 1.5 };
/** What a converter of this kind may be off besides its step: integral non-linearity, offset, gain, in steps (j). */
const CONVERTER_STEPS = 2;
/** As for every probe that is read: +-0.1 degC each (j). */
const DRIFT = 0.1;
const SELF_HEATING = 0.1;
/** The temperatures that U is reckoned for, its largest value counts, degC. */
const RANGE = [10, 15.5, 25, 40] as const;

/** The middle of the step that a count stands for, as a share of the reference. @param bits of the converter */
export const shareOf = (count: number, bits: number): number => (count + 0.5) / 2 ** bits;

/** The temperature that a share of the reference stands for. @throws {RangeError} at 0 and 1 for a thermistor */
export function analogCelsius(probe: AnalogProbe, share: number): Celsius {
  if (probe.part !== 'thermistor')
    return celsius((share * probe.referenceVolts - VOLTS_AT_ZERO[probe.part]) / VOLTS_PER_DEGREE);
  const ratio = share / (1 - share);
  return steinhartHartCelsius(probe.seriesOhm * (probe.side === 'ground' ? ratio : 1 / ratio), probe.curve);
}

/**
 * The standard uncertainty of such a probe as bought: part, reference or resistors, converter, step, drift and
 * self-heating, each anywhere within its limits (a/sqrt(3), JCGM 100:2008, 4.3.7). The largest over 10 to 40 degC.
 */
export function analogUncertainty(probe: AnalogProbe, bits: number): CelsiusDifference {
  return celsiusDifference(Math.max(...RANGE.map((degrees) => Math.hypot(...termsAt(probe, degrees, bits)))));
}

function termsAt(probe: AnalogProbe, degrees: number, bits: number): number[] {
  const share = shareAt(probe, degrees);
  const step = 1 / 2 ** bits;
  const degreesPerStep = Math.abs(
    analogCelsius(probe, share + step / 2) - analogCelsius(probe, share - step / 2),
  );
  const parts =
    probe.part === 'thermistor'
      ? [byOhm(probe, degrees, probe.thermistorPercent), byOhm(probe, degrees, probe.seriesPercent)]
      : [
          PART_LIMIT[probe.part],
          ((degrees * VOLTS_PER_DEGREE + VOLTS_AT_ZERO[probe.part]) / VOLTS_PER_DEGREE) *
            (probe.referencePercent / 100),
        ];
  const rectangular = [...parts, CONVERTER_STEPS * degreesPerStep, DRIFT, SELF_HEATING].map(
    (half) => half / Math.sqrt(3),
  );
  // A step is as wide as it is: its standard uncertainty is step/sqrt(12). The sixteenths it is kept in add theirs.
  return [...rectangular, degreesPerStep / Math.sqrt(12), 1 / 16 / Math.sqrt(12)];
}

/** Degrees that a relative error of a resistance comes to at a temperature. */
function byOhm({ curve }: Thermistor, degrees: number, percent: number): number {
  const ohm = ohmAt(curve, degrees);
  return Math.abs(steinhartHartCelsius(ohm * (1 + percent / 100), curve) - degrees);
}

function shareAt(probe: AnalogProbe, degrees: number): number {
  if (probe.part !== 'thermistor')
    return (degrees * VOLTS_PER_DEGREE + VOLTS_AT_ZERO[probe.part]) / probe.referenceVolts;
  const ohm = ohmAt(probe.curve, degrees);
  const atGround = ohm / (ohm + probe.seriesOhm);
  return probe.side === 'ground' ? atGround : 1 - atGround;
}

/** The resistance of a curve at a temperature, by halving: it falls as the temperature rises. */
function ohmAt(curve: SteinhartHart, degrees: number): number {
  let [low, high] = [1, 1e7];
  for (let step = 0; step < 80; step += 1) {
    const middle = Math.sqrt(low * high);
    if (steinhartHartCelsius(middle, curve) > degrees) low = middle;
    else high = middle;
  }
  return Math.sqrt(low * high);
}
