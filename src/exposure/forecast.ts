import type { Celsius } from '../units/temperature.js';
import { type DurationMs, inMinutes, minutes, type UtcMs } from '../units/time.js';
import { countWhile } from './timeline.js';
import type { Observation } from './types.js';

/** What is fitted: the latest readings, this far back (j). */
export const FORECAST_FIT = minutes(10);
/** A crossing further ahead is not told (j). */
export const FORECAST_AHEAD_MAX: DurationMs = minutes(10);
/** Less than this says nothing about a trend (j). */
const FIT_MIN = minutes(4);
const FIT_READINGS_MIN = 12;
/** A fall the fit does not show by this much, degrees, is noise, a step of the probe, or a steady cabin (j). */
const FALL_MIN = 0.3;
/** Standard deviation of a reading around the curve: a step of 1/16 and a probe's noise, degrees (j). */
const NOISE = 0.03;
/** Time constants tried, minutes: from a cup in the hand to a carrier in a cold cabin. */
const TIME_CONSTANTS = [3, 4.5, 7, 10, 15, 22, 33, 50, 75, 120, 200, 400];

/**
 * In how many minutes from its last reading a cup that cools will be below the threshold, by Newton cooling
 * T = end + (start - end) exp(-t / tau) fitted to the last minutes; null when it does not cool, is below already, or
 * will not be within `FORECAST_AHEAD_MAX`. Many time constants fit a few minutes almost equally well: each gives its
 * crossing, and the median by likelihood is told. No uncertainty U: the threshold itself, which lies between possibly
 * and certainly cold.
 *
 * @param readings of one seating, in order of time
 */
export function coldInMinutes(readings: readonly Observation[], threshold: Celsius): number | null {
  const last = readings.at(-1);
  if (last === undefined) return null;
  const points = pointsOf(readings, last.at);
  const first = points.minutes[0];
  if (first === undefined || points.minutes.length < FIT_READINGS_MIN || -first < inMinutes(FIT_MIN))
    return null;
  const fits = TIME_CONSTANTS.map((tau) => fitted(points, tau)).filter((fit) => fit !== null);
  const best = fits.reduce<Fit | null>(
    (one, other) => (one === null || other.squares < one.squares ? other : one),
    null,
  );
  if (best === null || best.now <= threshold || best.at(first) - best.now < FALL_MIN) return null;
  const median = weightedMedian(
    fits.map((fit) => ({
      value: crossing(fit, threshold),
      weight: Math.exp((best.squares - fit.squares) / (2 * NOISE ** 2)),
    })),
  );
  return median <= inMinutes(FORECAST_AHEAD_MAX) ? median : null;
}

/** What is fitted, as columns: two dozen cups are looked at each second, on small computers. */
interface Points {
  /** Before the last reading, so 0 and less. */
  readonly minutes: readonly number[];
  readonly celsius: readonly number[];
  readonly meanCelsius: number;
}

function pointsOf(readings: readonly Observation[], last: UtcMs): Points {
  const minutes: number[] = [];
  const celsius: number[] = [];
  for (
    let index = countWhile(readings, (at) => last - at > FORECAST_FIT);
    index < readings.length;
    index += 1
  ) {
    const reading = readings[index] as Observation;
    minutes.push(inMinutes((reading.at - last) as DurationMs));
    celsius.push(reading.celsius);
  }
  return { minutes, celsius, meanCelsius: mean(celsius) };
}

interface Fit {
  readonly tau: number;
  /** Where it is heading. */
  readonly end: number;
  /** At the last reading. */
  readonly now: number;
  /** Sum of squared residuals. */
  readonly squares: number;
  at(minute: number): number;
}

/** The least-squares curve with one time constant: a line in exp(-t / tau). */
function fitted({ minutes, celsius, meanCelsius }: Points, tau: number): Fit | null {
  const shapes = minutes.map((minute) => Math.exp(-minute / tau));
  const meanShape = mean(shapes);
  let spread = 0;
  let product = 0;
  for (let index = 0; index < shapes.length; index += 1) {
    const shape = (shapes[index] as number) - meanShape;
    spread += shape ** 2;
    product += shape * ((celsius[index] as number) - meanCelsius);
  }
  if (spread === 0) return null;
  const amplitude = product / spread;
  const end = meanCelsius - amplitude * meanShape;
  let squares = 0;
  for (let index = 0; index < shapes.length; index += 1)
    squares += ((celsius[index] as number) - (end + amplitude * (shapes[index] as number))) ** 2;
  const at = (minute: number) => end + amplitude * Math.exp(-minute / tau);
  return { tau, end, now: at(0), squares, at };
}

/** Minutes until a curve is at the threshold; infinite when it never is. */
function crossing({ tau, end, now }: Fit, threshold: Celsius): number {
  if (now <= threshold) return 0;
  return end >= threshold ? Number.POSITIVE_INFINITY : tau * Math.log((now - end) / (threshold - end));
}

function weightedMedian(values: readonly { readonly value: number; readonly weight: number }[]): number {
  const sorted = values.toSorted((a, b) => (a.value < b.value ? -1 : 1));
  const half = sorted.reduce((sum, { weight }) => sum + weight, 0) / 2;
  let sum = 0;
  for (const { value, weight } of sorted) {
    sum += weight;
    if (sum >= half) return value;
  }
  return Number.POSITIVE_INFINITY;
}

function mean(values: readonly number[]): number {
  let sum = 0;
  for (const value of values) sum += value;
  return sum / values.length;
}
