import type { Celsius, CelsiusDifference } from '../units/temperature.js';
import { type DurationMs, durationMs, MS_PER_MINUTE } from '../units/time.js';
import type { RuleSet } from './ruleSet.js';
import type { ObservedStretch, Timeline } from './timeline.js';

/** How far past its limit a temperature is, degrees; not past it at 0 and below. */
export interface Limit {
  excess(celsius: Celsius, uncertainty: CelsiusDifference): number;
  /** Whether time that nobody observed counts as past the limit, and stretches that touch are one spell. */
  readonly possible: boolean;
}

/** The four limits of a rule set: T + U and T - U against the threshold and the hot limit. */
export const limitsOf = ({ thresholdCelsius, hotCelsius }: RuleSet) => ({
  certainCold: { excess: (t: number, u: number) => thresholdCelsius - (t + u), possible: false },
  possibleCold: { excess: (t: number, u: number) => thresholdCelsius - (t - u), possible: true },
  certainHot: { excess: (t: number, u: number) => t - u - hotCelsius, possible: false },
  possibleHot: { excess: (t: number, u: number) => t + u - hotCelsius, possible: true },
});

/** Time past a limit, minutes, to the microsecond. */
export interface Spells {
  readonly totalMinutes: number;
  readonly longestMinutes: number;
  /** The spell that still runs at the end of the timeline, 0 when none does. */
  readonly runningMinutes: number;
}

/**
 * Adds up the time past a limit and its longest spell. Crossings are interpolated. A certain spell goes on only
 * through instants that are themselves past the limit, so it ends at a gap; possible stretches that touch, if only
 * at an instant, are one spell.
 */
export function spellsPast(limit: Limit, { stretches }: Timeline): Spells {
  let total = 0;
  let longest = 0;
  let spell: Past | null = null;
  for (const stretch of stretches) {
    const past =
      stretch.kind === 'observed' ? pastIn(stretch, limit) : limit.possible ? whole(stretch) : null;
    if (past === null) continue;
    spell = spell !== null && joins(spell, past, limit) ? { ...past, from: spell.from } : past;
    total += past.to - past.from;
    longest = Math.max(longest, spell.to - spell.from);
  }
  const runs = spell?.throughEnd === true && spell.to === stretches.at(-1)?.to;
  return {
    totalMinutes: settledMinutes(total),
    longestMinutes: settledMinutes(longest),
    runningMinutes: spell !== null && runs ? settledMinutes(spell.to - spell.from) : 0,
  };
}

const joins = (spell: Past, next: Past, { possible }: Limit): boolean =>
  next.from === spell.to && (possible || (spell.throughEnd && next.throughStart));

/** Whether a temperature known to +-U is past a limit. */
export const isPast = (limit: Limit, celsius: Celsius, uncertainty: CelsiusDifference): boolean =>
  settledDegrees(limit.excess(celsius, uncertainty)) > 0;

/** Integral of how far the temperature is below `threshold`, degree-minutes, over observed time. */
export function degreeMinutesBelow(threshold: Celsius, { stretches }: Timeline): number {
  const below: Limit = { excess: (celsius) => threshold - celsius, possible: false };
  let sum = 0;
  for (const stretch of stretches) {
    const past = stretch.kind === 'observed' ? pastIn(stretch, below) : null;
    if (past !== null) sum += (past.meanExcess * (past.to - past.from)) / MS_PER_MINUTE;
  }
  return sum;
}

/**
 * The part of a stretch that is past a limit. At an end that is no crossing, `through…` says that the end instant
 * itself is past the limit.
 */
interface Past {
  readonly from: DurationMs;
  readonly to: DurationMs;
  readonly throughStart: boolean;
  readonly throughEnd: boolean;
  readonly meanExcess: number;
}

const whole = ({ from, to }: { from: DurationMs; to: DurationMs }): Past => ({
  from,
  to,
  throughStart: true,
  throughEnd: true,
  meanExcess: 0,
});

function pastIn(stretch: ObservedStretch, limit: Limit): Past | null {
  const start = settledDegrees(limit.excess(stretch.first, stretch.uncertainty));
  const end = settledDegrees(limit.excess(stretch.last, stretch.uncertainty));
  const throughStart = start > 0;
  const throughEnd = end > 0;
  if (!throughStart && !throughEnd) return null;
  const { from, to } = stretch;
  if (throughStart && throughEnd)
    return { from, to, throughStart, throughEnd, meanExcess: (start + end) / 2 };
  const crossing = durationMs(from + (to - from) * (start / (start - end)));
  return throughStart
    ? { from, to: crossing, throughStart, throughEnd, meanExcess: start / 2 }
    : { from: crossing, to, throughStart, throughEnd, meanExcess: end / 2 };
}

/** 15.9 + 0.1 must equal 16: what is below a billionth of a degree is rounding. */
const ROUNDING_DEGREES = 1e-9;
const settledDegrees = (excess: number): number => (Math.abs(excess) < ROUNDING_DEGREES ? 0 : excess);

/** Five minutes put together from interpolated parts must equal five minutes: to the microsecond. */
const settledMinutes = (ms: number): number => Math.round(ms * 1000) / 1000 / MS_PER_MINUTE;
