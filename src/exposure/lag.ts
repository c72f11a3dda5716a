import { tReachOf } from '../../shared/index.js';
import { Refusal } from '../units/refusal.js';
import { type CelsiusDifference, celsiusDifference } from '../units/temperature.js';
import { between, MS_PER_SECOND } from '../units/time.js';
import { meanOf } from './calibration.js';
import type { Observation } from './types.js';

/** How slowly a probe follows: T = end + (start - end) exp(-t / tau). */
export interface Lag {
  readonly tauSeconds: number;
  /** Two-sided 95 % interval of tau, from the scatter around the curve; draughts are not in it. */
  readonly lowSeconds: number;
  readonly highSeconds: number;
  /** From before the step to its end, degrees. */
  readonly step: CelsiusDifference;
  readonly readings: number;
  /** Root of the mean squared distance from the curve, degrees. */
  readonly residual: CelsiusDifference;
}

/** A smaller step drowns in the air's own changes (j). */
export const LAG_STEP_MIN = 5 as CelsiusDifference;
/** So many readings make a fit of three unknowns worth having (j). */
export const LAG_READINGS_MIN = 15;
/** The step is watched for so many time constants: then 5 % of it are left (j). */
export const LAG_TAUS_MIN = 3;
/** Readings that lie further from the curve were no single step: a draught, a hand, a lid (j). */
export const LAG_RESIDUAL_MAX = 0.15 as CelsiusDifference;
/** The curve is fitted from where this share of the step is left: what the hands did before is over (j). */
const FIT_FROM = 0.9;
const LEVEL = 0.95;
/** Standard uncertainty of one step of 1/16: a residual is never taken to be known better (JCGM 100:2008, F.2.2.1). */
const STEP_U = 0.0625 / Math.sqrt(12);
const TAU_MIN = 2;
const TAU_MAX = 7200;

/**
 * Fits a probe's readings through a step by least squares. The interval is the set of tau at which the sum of squares
 * exceeds its least by no more than F(1, n - 3) = t^2 allows (profile of the sum of squares, Bates and Watts 1988,
 * from memory).
 *
 * @param readings of one probe, in order of time: from before the step until it is over
 * @throws {Refusal} when the step is too small, too short, or no step at all
 */
export function fitLag(readings: readonly Observation[]): Lag {
  const { top, end } = extent(readings);
  const step = celsiusDifference(end - readings[top]!.celsius);
  if (Math.abs(step) < LAG_STEP_MIN)
    throw new Refusal(
      `the step is ${Math.abs(step).toFixed(1)} °C, at least ${LAG_STEP_MIN} are needed; start from a warm hand or a bath that differs more from the cup`,
    );
  const from = readings.findIndex(
    ({ celsius }, index) => index > top && Math.abs(celsius - end) <= FIT_FROM * Math.abs(step),
  );
  const fitted = readings.slice(from);
  if (fitted.length < LAG_READINGS_MIN)
    throw new Refusal(
      `the step has ${fitted.length} readings, ${LAG_READINGS_MIN} are needed; wait until it is over`,
    );
  const points = fitted.map(({ at, celsius }) => ({
    t: between(fitted[0]!.at, at) / MS_PER_SECOND,
    celsius: celsius as number,
  }));
  const squares = (lnTau: number) => squaresAt(points, Math.exp(lnTau));
  const best = lowest(squares, Math.log(TAU_MIN), Math.log(TAU_MAX));
  const tauSeconds = Math.exp(best);
  const least = squares(best);
  const residual = Math.sqrt(least / points.length);
  if (residual > LAG_RESIDUAL_MAX)
    throw new Refusal(
      `the readings lie ${residual.toFixed(2)} °C off a single step (${LAG_RESIDUAL_MAX} is allowed); close the lid, keep draughts and hands away, and begin again`,
    );
  const lasted = points.at(-1)!.t;
  if (lasted < LAG_TAUS_MIN * tauSeconds)
    throw new Refusal(
      `the step was watched for ${(lasted / 60).toFixed(1)} min, too short for a time constant of about ${Math.round(tauSeconds)} s; wait ${Math.ceil((LAG_TAUS_MIN * tauSeconds - lasted) / 60)} min more`,
    );
  const freedom = points.length - 3;
  const allowed = least + tReachOf(LEVEL, freedom) ** 2 * Math.max(least / freedom, STEP_U ** 2);
  const edge = (direction: -1 | 1) => Math.exp(edgeOf(squares, best, direction, allowed));
  return {
    tauSeconds,
    lowSeconds: edge(-1),
    highSeconds: edge(1),
    step,
    readings: points.length,
    residual: celsiusDifference(residual),
  };
}

/** Where the step comes to, and the last reading before it: the furthest from there. */
function extent(readings: readonly Observation[]): { top: number; end: number } {
  if (readings.length === 0) throw new Refusal('there is no reading to fit; look whether the probe answers');
  const end = meanOf(readings.slice(-3).map(({ celsius }) => celsius));
  const away = readings.map(({ celsius }) => Math.abs(celsius - end));
  const most = Math.max(...away);
  return { top: away.findLastIndex((each) => each >= most - 2 * 0.0625), end };
}

interface Point {
  readonly t: number;
  readonly celsius: number;
}

/** Least sum of squares for one tau: a straight line in exp(-t / tau). */
function squaresAt(points: readonly Point[], tau: number): number {
  const shapes = points.map(({ t }) => Math.exp(-t / tau));
  const shape = meanOf(shapes);
  const level = meanOf(points.map(({ celsius }) => celsius));
  let [xx, xy, yy] = [0, 0, 0];
  for (const [index, { celsius }] of points.entries()) {
    const [x, y] = [shapes[index]! - shape, celsius - level];
    xx += x * x;
    xy += x * y;
    yy += y * y;
  }
  return xx === 0 ? yy : Math.max(0, yy - (xy * xy) / xx);
}

/** Where a function of one dip is lowest: a coarse look, then golden sections. */
function lowest(f: (x: number) => number, from: number, to: number): number {
  const steps = 60;
  const width = (to - from) / steps;
  const places = Array.from({ length: steps + 1 }, (_, index) => from + index * width);
  const coarse = places.reduce((one, other) => (f(other) < f(one) ? other : one));
  let [a, b] = [coarse - width, coarse + width];
  const ratio = (Math.sqrt(5) - 1) / 2;
  for (let turn = 0; turn < 60; turn += 1) {
    const [c, d] = [b - ratio * (b - a), a + ratio * (b - a)];
    if (f(c) < f(d)) b = d;
    else a = c;
  }
  return (a + b) / 2;
}

/** How far from the lowest place the function stays within what is allowed. */
function edgeOf(f: (x: number) => number, best: number, direction: -1 | 1, allowed: number): number {
  let inside = best;
  let outside = best;
  for (let width = 0.001; Math.abs(outside - best) < Math.log(TAU_MAX); width *= 2) {
    outside = best + direction * width;
    if (f(outside) > allowed) break;
    inside = outside;
  }
  for (let turn = 0; turn < 50; turn += 1) {
    const middle = (inside + outside) / 2;
    if (f(middle) > allowed) outside = middle;
    else inside = middle;
  }
  return inside;
}
