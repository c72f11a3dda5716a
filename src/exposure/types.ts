import type { Celsius, CelsiusDifference } from '../units/temperature.js';
import type { DurationMs, UtcMs } from '../units/time.js';

/** One trustworthy reading of a probe, corrected by its offset. */
export interface Observation {
  readonly at: UtcMs;
  readonly celsius: Celsius;
}

/** A stretch of an exposure in one slot, read by one probe; both ends included. */
export interface Seating {
  /** Whatever names the probe in the readings: a ROM id from a store, any text from a CSV file. */
  readonly probe: string;
  readonly from: UtcMs;
  readonly to: UtcMs;
  /** Expanded uncertainty (k = 2) of this probe in this place. */
  readonly uncertainty: CelsiusDifference;
}

/** How far the true time may lie from the stated one, either way; zero when exact. */
export interface Precision {
  readonly load: DurationMs;
  readonly turn: DurationMs;
}

/** Load to turn of one cup: what is ruled on. */
export interface Exposure {
  readonly cup: string;
  readonly load: UtcMs;
  readonly turn: UtcMs;
  readonly precision: Precision;
  readonly seatings: readonly Seating[];
  /** Why the cup is spoiled, null when it is not. */
  readonly spoiled: string | null;
  /** Remarks that come with the facts (late entry and the like); they never rule. */
  readonly remarks: readonly string[];
}

export const RULINGS = ['spoiled', 'short', 'long', 'cold', 'hot', 'unproven', 'valid'] as const;
export type Ruling = (typeof RULINGS)[number];

/** A figure known only between two bounds, minutes. */
export interface Bounds {
  readonly certain: number;
  readonly possible: number;
}

export interface Gap {
  readonly from: UtcMs;
  readonly to: UtcMs;
}

/** What the rule set says of one exposure, with the figures it rests on. Durations in minutes. */
export interface CupRuling {
  readonly cup: string;
  readonly ruling: Ruling;
  /** One sentence a reason, each beginning with its ruling word; empty when valid. */
  readonly reasons: readonly string[];
  readonly exposureMinutes: number;
  readonly observedMinutes: number;
  readonly coldMinutes: Bounds;
  readonly longestColdSpellMinutes: Bounds;
  readonly hotMinutes: Bounds;
  readonly longestHotSpellMinutes: Bounds;
  /** Over trustworthy readings inside seatings; null when there are none. */
  readonly minCelsius: Celsius | null;
  readonly maxCelsius: Celsius | null;
  /** Time-weighted over observed time; null when none. */
  readonly meanCelsius: Celsius | null;
  /** Integral of (threshold - T) where positive, over observed time, no uncertainty; null when none. */
  readonly degreeMinutesBelow: number | null;
  readonly gaps: readonly Gap[];
  /** What never rules: cool, hot warning, late entry. */
  readonly remarks: readonly string[];
}
