import { Refusal } from '../units/refusal.js';
import { type Celsius, celsius } from '../units/temperature.js';
import {
  between,
  type DurationMs,
  durationMs,
  formatInstant,
  inMinutes,
  later,
  seconds,
  utcMs,
} from '../units/time.js';
import { type Findings, reasonsFor, remarksFor } from './reasons.js';
import type { RuleSet } from './ruleSet.js';
import { degreeMinutesBelow, limitsOf, type Spells, spellsPast } from './spells.js';
import { layOut, type ObservationsOf, type Timeline, type Window } from './timeline.js';
import { type Bounds, type CupRuling, type Exposure, type Gap, RULINGS } from './types.js';

/**
 * Rules on one exposure. Pure: equal input gives an equal ruling, whatever the order in which it arrived.
 *
 * @param observationsOf all trustworthy observations of a probe, corrected by its offset, sorted by time; those
 * outside the exposure are ignored
 * @throws {Refusal} when the cup is turned before it is loaded, when seatings overlap, or when a probe has two
 * different readings at one instant
 */
export function judgeExposure(exposure: Exposure, observationsOf: ObservationsOf, rules: RuleSet): CupRuling {
  if (exposure.turn < exposure.load)
    throw new Refusal(
      `cup ${exposure.cup} is turned at ${formatInstant(exposure.turn)}, before it is loaded at ${formatInstant(exposure.load)}; correct one of the two`,
    );
  const timelines = windowsOf(exposure).map((window) => timelineOf(exposure, window, observationsOf, rules));
  const stated = timelines[0] as Timeline;
  const bounded = boundsOver(timelines, rules);
  const { minCelsius, maxCelsius } = extremesOf(stated);
  const exposureMinutes = inMinutes(between(exposure.load, exposure.turn));
  const slack = inMinutes(durationMs(exposure.precision.load + exposure.precision.turn));
  const meanCelsius = meanOf(stated);
  const findings: Findings = {
    spoiled: exposure.spoiled,
    exposureMinutes,
    exposureMinutesLeast: Math.max(0, exposureMinutes - slack),
    exposureMinutesMost: exposureMinutes + slack,
    minCelsius,
    maxCelsius,
    meanCelsius,
    ...bounded,
  };
  const reasons = reasonsFor(findings, rules);
  return {
    cup: exposure.cup,
    ruling: RULINGS.find((ruling) => reasons.some((reason) => reason.ruling === ruling)) ?? 'valid',
    reasons: reasons.map(({ sentence }) => sentence),
    exposureMinutes,
    observedMinutes: inMinutes(observedTime(stated)),
    ...bounded,
    minCelsius,
    maxCelsius,
    meanCelsius,
    degreeMinutesBelow: meanCelsius === null ? null : degreeMinutesBelow(rules.thresholdCelsius, stated),
    gaps: gapsOf(stated),
    remarks: [...remarksFor(findings, rules), ...exposure.remarks],
  };
}

/** What is known of a cup from the window's start to its end. */
export function timelineOf(
  exposure: Exposure,
  window: Window,
  observationsOf: ObservationsOf,
  rules: RuleSet,
): Timeline {
  return layOut(exposure.cup, window, exposure.seatings, observationsOf, seconds(rules.maxGapSeconds));
}

/**
 * The exposure as stated, then, when its ends are only known to a precision, the shortest and the longest that
 * they allow.
 */
function windowsOf({ load, turn, precision }: Exposure): readonly Window[] {
  const stated = { from: load, to: turn };
  if (precision.load === 0 && precision.turn === 0) return [stated];
  const earliest = later(load, durationMs(-precision.load));
  const latest = later(turn, precision.turn);
  const lastLoad = later(load, precision.load);
  const firstTurn = later(turn, durationMs(-precision.turn));
  const shortest = { from: lastLoad, to: utcMs(Math.max(firstTurn, lastLoad)) };
  return [stated, shortest, { from: earliest, to: latest }];
}

type Bounded = Pick<
  CupRuling,
  'coldMinutes' | 'longestColdSpellMinutes' | 'hotMinutes' | 'longestHotSpellMinutes'
>;

/** Certain is what every window shows, possible what any window allows. */
function boundsOver(timelines: readonly Timeline[], rules: RuleSet): Bounded {
  const limits = limitsOf(rules);
  const over = (limit: (typeof limits)[keyof typeof limits]) =>
    timelines.map((timeline) => spellsPast(limit, timeline));
  const cold = { certain: over(limits.certainCold), possible: over(limits.possibleCold) };
  const hot = { certain: over(limits.certainHot), possible: over(limits.possibleHot) };
  return {
    coldMinutes: boundsOf(cold, ({ totalMinutes }) => totalMinutes),
    longestColdSpellMinutes: boundsOf(cold, ({ longestMinutes }) => longestMinutes),
    hotMinutes: boundsOf(hot, ({ totalMinutes }) => totalMinutes),
    longestHotSpellMinutes: boundsOf(hot, ({ longestMinutes }) => longestMinutes),
  };
}

function boundsOf(
  spells: { readonly certain: readonly Spells[]; readonly possible: readonly Spells[] },
  figure: (spells: Spells) => number,
): Bounds {
  const certain = Math.min(...spells.certain.map(figure));
  return { certain, possible: Math.max(certain, ...spells.possible.map(figure)) };
}

function extremesOf({ readings }: Timeline): { minCelsius: Celsius | null; maxCelsius: Celsius | null } {
  let [min, max] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const reading of readings) {
    min = Math.min(min, reading.celsius);
    max = Math.max(max, reading.celsius);
  }
  return readings.length === 0
    ? { minCelsius: null, maxCelsius: null }
    : { minCelsius: celsius(min), maxCelsius: celsius(max) };
}

function observedTime({ stretches }: Timeline): DurationMs {
  let sum = 0;
  for (const { kind, from, to } of stretches) if (kind === 'observed') sum += to - from;
  return durationMs(sum);
}

/** Time-weighted mean over observed time, null when there is none. */
function meanOf(timeline: Timeline): Celsius | null {
  const observed = observedTime(timeline);
  const origin = timeline.readings[0]?.celsius;
  if (observed === 0 || origin === undefined) return null;
  // Differences from the first reading, so that a constant temperature has exactly itself as its mean.
  let sum = 0;
  for (const stretch of timeline.stretches)
    if (stretch.kind === 'observed')
      sum += ((stretch.first - origin + (stretch.last - origin)) / 2) * (stretch.to - stretch.from);
  return celsius(origin + sum / observed);
}

const gapsOf = ({ window, stretches }: Timeline): Gap[] =>
  stretches
    .filter(({ kind }) => kind === 'gap')
    .map(({ from, to }) => ({ from: later(window.from, from), to: later(window.from, to) }));
