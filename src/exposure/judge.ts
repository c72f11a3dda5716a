import { Refusal } from '../units/refusal.js';
import { between, durationMs, formatInstant, inMinutes, later, utcMs } from '../units/time.js';
import { type Figures, figuresIn } from './figures.js';
import { type Findings, reasonsFor, remarksFor } from './reasons.js';
import type { RuleSet } from './ruleSet.js';
import type { LimitName } from './spells.js';
import type { ObservationsOf, Window } from './timeline.js';
import { type Bounds, type CupRuling, type Exposure, RULINGS } from './types.js';

/**
 * Rules on one exposure. Pure: equal input gives an equal ruling, whatever the order in which it arrived.
 *
 * @param observationsOf all trustworthy observations of a probe, corrected by its offset, sorted by time; those
 * outside the exposure are ignored
 * @throws {Refusal} when the cup is turned before it is loaded, when seatings overlap, or when a probe has two
 * different readings at one instant
 */
export function judgeExposure(exposure: Exposure, observationsOf: ObservationsOf, rules: RuleSet): CupRuling {
  const figures = windowsOf(exposure).map((window) => figuresIn(exposure, window, observationsOf, rules));
  return rulingFrom(exposure, figures, rules);
}

/**
 * The ruling that figures give.
 *
 * @param figures of the windows of `windowsOf`, in their order
 */
export function rulingFrom(exposure: Exposure, figures: readonly Figures[], rules: RuleSet): CupRuling {
  const stated = figures[0] as Figures;
  const { minCelsius, maxCelsius, meanCelsius } = stated;
  const bounded = boundsOver(figures);
  const exposureMinutes = inMinutes(between(exposure.load, exposure.turn));
  const slack = inMinutes(durationMs(exposure.precision.load + exposure.precision.turn));
  const findings: Findings = {
    spoiled: exposure.spoiled,
    exposureMinutes,
    exposureMinutesLeast: Math.max(0, exposureMinutes - slack),
    exposureMinutesMost: exposureMinutes + slack,
    minCelsius,
    maxCelsius,
    meanCelsius,
    warmUps: stated.warmUps,
    ...bounded,
  };
  const reasons = reasonsFor(findings, rules);
  return {
    cup: exposure.cup,
    ruling: RULINGS.find((ruling) => reasons.some((reason) => reason.ruling === ruling)) ?? 'valid',
    reasons: reasons.map(({ sentence }) => sentence),
    exposureMinutes,
    observedMinutes: inMinutes(stated.observed),
    ...bounded,
    minCelsius,
    maxCelsius,
    meanCelsius,
    degreeMinutesBelow: stated.degreeMinutesBelow,
    gaps: stated.gaps,
    remarks: [...remarksFor(findings, rules), ...exposure.remarks],
  };
}

/**
 * The exposure as stated, then, when its ends are only known to a precision, the shortest and the longest that
 * they allow.
 *
 * @throws {Refusal} when the cup is turned before it is loaded
 */
export function windowsOf({ cup, load, turn, precision }: Exposure): readonly Window[] {
  if (turn < load)
    throw new Refusal(
      `cup ${cup} is turned at ${formatInstant(turn)}, before it is loaded at ${formatInstant(load)}; correct one of the two`,
    );
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
function boundsOver(figures: readonly Figures[]): Bounded {
  const bounds = (certain: LimitName, possible: LimitName, figure: 'totalMinutes' | 'longestMinutes') =>
    boundsOf(
      figures.map(({ spells }) => spells[certain][figure]),
      figures.map(({ spells }) => spells[possible][figure]),
    );
  return {
    coldMinutes: bounds('certainCold', 'possibleCold', 'totalMinutes'),
    longestColdSpellMinutes: bounds('certainCold', 'possibleCold', 'longestMinutes'),
    hotMinutes: bounds('certainHot', 'possibleHot', 'totalMinutes'),
    longestHotSpellMinutes: bounds('certainHot', 'possibleHot', 'longestMinutes'),
  };
}

function boundsOf(certain: readonly number[], possible: readonly number[]): Bounds {
  const least = Math.min(...certain);
  return { certain: least, possible: Math.max(least, ...possible) };
}
