import type { Celsius, CelsiusDifference } from '../units/temperature.js';
import { type DurationMs, durationMs, MS_PER_MINUTE } from '../units/time.js';
import type { RuleSet } from './ruleSet.js';

/** How far past its limit a temperature is, degrees; not past it at 0 and below. */
export interface Limit {
  excess(celsius: Celsius, uncertainty: CelsiusDifference): number;
  /** Whether time that nobody observed counts as past the limit, and stretches that touch are one spell. */
  readonly possible: boolean;
}

export type LimitName = 'certainCold' | 'possibleCold' | 'certainHot' | 'possibleHot';
export const LIMIT_NAMES = ['certainCold', 'possibleCold', 'certainHot', 'possibleHot'] as const;

/** The four limits of a rule set: T + U and T - U against the threshold and the hot limit. */
export const limitsOf = ({ thresholdCelsius, hotCelsius }: RuleSet): Readonly<Record<LimitName, Limit>> => ({
  certainCold: { excess: (t: number, u: number) => thresholdCelsius - (t + u), possible: false },
  possibleCold: { excess: (t: number, u: number) => thresholdCelsius - (t - u), possible: true },
  certainHot: { excess: (t: number, u: number) => t - u - hotCelsius, possible: false },
  possibleHot: { excess: (t: number, u: number) => t + u - hotCelsius, possible: true },
});

/** Whether a temperature known to +-U is past a limit. */
export const isPast = (limit: Limit, celsius: Celsius, uncertainty: CelsiusDifference): boolean =>
  settledDegrees(limit.excess(celsius, uncertainty)) > 0;

/** A stretch in which the temperature runs in a straight line. Times count from the window's start. */
export interface Line {
  readonly from: DurationMs;
  readonly to: DurationMs;
  readonly first: Celsius;
  readonly last: Celsius;
  readonly uncertainty: CelsiusDifference;
}

/**
 * A run past a limit. At an end that is no crossing, `through…` says that the end instant itself is past the limit.
 */
export interface Run {
  readonly from: DurationMs;
  readonly to: DurationMs;
  readonly throughStart: boolean;
  readonly throughEnd: boolean;
}

/** The part of a line that is past a limit, its crossings interpolated, and how far past it is on average. */
export function pastIn(line: Line, limit: Limit): (Run & { readonly meanExcess: number }) | null {
  const start = settledDegrees(limit.excess(line.first, line.uncertainty));
  const end = settledDegrees(limit.excess(line.last, line.uncertainty));
  const throughStart = start > 0;
  const throughEnd = end > 0;
  if (!throughStart && !throughEnd) return null;
  const { from, to } = line;
  if (throughStart && throughEnd)
    return { from, to, throughStart, throughEnd, meanExcess: (start + end) / 2 };
  const crossing = durationMs(from + (to - from) * (start / (start - end)));
  return throughStart
    ? { from, to: crossing, throughStart, throughEnd, meanExcess: start / 2 }
    : { from: crossing, to, throughStart, throughEnd, meanExcess: end / 2 };
}

/** How far a line is below `threshold`, integrated over time: degree-minutes. */
export function degreeMinutesBelow(threshold: Celsius, line: Line): number {
  const past = pastIn(line, { excess: (celsius) => threshold - celsius, possible: false });
  return past === null ? 0 : (past.meanExcess * (past.to - past.from)) / MS_PER_MINUTE;
}

/** Time past a limit, minutes, to the microsecond. */
export interface Spells {
  readonly totalMinutes: number;
  readonly longestMinutes: number;
  /** The spell that still runs at the end of the window, 0 when none does. */
  readonly runningMinutes: number;
}

/**
 * Adds up, in order of time, the runs past one limit and joins them to spells. A certain spell goes on only through
 * instants that are themselves past the limit, so it ends at a gap; possible runs that touch, if only at an instant,
 * are one spell. Of many spells only those are kept that later runs, or an earlier part put in front, can lengthen
 * or that are the longest: the first, the last, and the longest between.
 */
export class SpellCount {
  private total = 0;
  private first: Run | null = null;
  private between: Run | null = null;
  private last: Run | null = null;

  constructor(private readonly possible: boolean) {}

  add(run: Run): void {
    this.total += run.to - run.from;
    this.join(run);
  }

  /** Adds what another count holds, all of it later than what this one holds. */
  append(after: SpellCount): void {
    this.total += after.total;
    if (after.first !== null) this.join(after.first);
    if (after.between !== null) this.join(after.between);
    if (after.last !== null && after.last !== after.first) this.join(after.last);
  }

  copy(): SpellCount {
    const copy = new SpellCount(this.possible);
    copy.total = this.total;
    copy.first = this.first;
    copy.between = this.between;
    copy.last = this.last;
    return copy;
  }

  /** @param end of the window, counted from its start */
  spells(end: DurationMs): Spells {
    const { first, between, last } = this;
    const runs = last?.throughEnd === true && last.to === end;
    return {
      totalMinutes: settledMinutes(this.total),
      longestMinutes: settledMinutes(Math.max(lengthOf(first), lengthOf(between), lengthOf(last))),
      runningMinutes: runs ? settledMinutes(lengthOf(last)) : 0,
    };
  }

  private join(run: Run): void {
    const { first, last } = this;
    if (last !== null && this.goesOn(last, run)) {
      const { from, throughStart } = last;
      this.last = { from, throughStart, to: run.to, throughEnd: run.throughEnd };
      if (last === first) this.first = this.last;
      return;
    }
    if (last !== first && lengthOf(last) > lengthOf(this.between)) this.between = last;
    this.first ??= run;
    this.last = run;
  }

  private goesOn(spell: Run, next: Run): boolean {
    return next.from === spell.to && (this.possible || (spell.throughEnd && next.throughStart));
  }
}

const lengthOf = (run: Run | null): number => (run === null ? 0 : run.to - run.from);

/** 15.9 + 0.1 must equal 16: what is below a billionth of a degree is rounding. */
export const ROUNDING_DEGREES = 1e-9;
const settledDegrees = (excess: number): number => (Math.abs(excess) < ROUNDING_DEGREES ? 0 : excess);

/** Five minutes put together from interpolated parts must equal five minutes: to the microsecond. */
const settledMinutes = (ms: number): number => Math.round(ms * 1000) / 1000 / MS_PER_MINUTE;
