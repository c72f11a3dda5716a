import type { Celsius } from '../units/temperature.js';
import { type DurationMs, durationMs, MS_PER_MINUTE, type UtcMs } from '../units/time.js';
import type { RuleSet } from './ruleSet.js';
import {
  degreeMinutesBelow,
  isPast,
  LIMIT_NAMES,
  type LimitName,
  type Line,
  limitsOf,
  pastIn,
  ROUNDING_DEGREES,
  SpellCount,
} from './spells.js';
import { isObserved } from './timeline.js';
import { conflict } from './trustworthy.js';
import type { Seating } from './types.js';

/** What the readings of one seating come to, as far as a ruling needs them. Times count from the window's start. */
export interface SeatingPart {
  readonly readings: number;
  readonly first: Celsius;
  readonly min: Celsius;
  readonly max: Celsius;
  /** The first and the last instant that is observed; null when none is. */
  readonly observed: { readonly from: DurationMs; readonly to: DurationMs } | null;
  readonly observedMs: number;
  /** Integral of T - `first` over observed time, degrees times ms: a constant temperature has exactly itself as mean. */
  readonly aboveFirst: number;
  readonly degreeMinutesBelow: number;
  /** Between `observed.from` and `observed.to`. */
  readonly gaps: readonly Span[];
  readonly spells: Readonly<Record<LimitName, SpellCount>>;
  readonly warmUp: WarmUp | null;
}

/** Readings that rise steadily from cold right after a cup was seated, as those of a probe do that was not pre-warmed. */
export interface WarmUp {
  readonly fromCelsius: Celsius;
  readonly minutes: number;
  /** Whether the readings have left what is possibly cold; else they still rise. */
  readonly isOver: boolean;
}

/** A probe in still air has followed its cup after this long: three time constants of 5 min (j). */
const WARM_UP_MS_MAX = 15 * MS_PER_MINUTE;
/** A smaller rise is weather (j). */
const WARM_UP_RISE_MIN = 2;
/** A rise counts as steady if no reading falls by more than a step of the probe. */
const STEP = 0.0625 + ROUNDING_DEGREES;

export interface Span {
  readonly from: DurationMs;
  readonly to: DurationMs;
}

/**
 * Takes the readings of one seating in order of time and keeps only what the ruling needs: its size grows with gaps,
 * not with readings.
 */
export class SeatingFold {
  private readings = 0;
  private at = 0;
  private celsius = 0;
  private inComfort = true;
  private first = 0;
  private min = Number.POSITIVE_INFINITY;
  private max = Number.NEGATIVE_INFINITY;
  private observedFrom = -1;
  private observedTo = -1;
  private observedMs = 0;
  private aboveFirst = 0;
  private degreeMinutes = 0;
  private warmUp: 'rising' | 'over' | 'none' = 'none';
  private firstAt = 0;
  private warmUpMs = 0;
  private gaps: Span[] = [];
  private spells: Record<LimitName, SpellCount>;
  private readonly limits: ReturnType<typeof limitsOf>;

  /**
   * @param seating clipped to the window
   * @param start of the window
   */
  constructor(
    readonly seating: Seating,
    private readonly start: UtcMs,
    private readonly rules: RuleSet,
  ) {
    this.limits = limitsOf(rules);
    this.spells = {
      certainCold: new SpellCount(false),
      possibleCold: new SpellCount(true),
      certainHot: new SpellCount(false),
      possibleHot: new SpellCount(true),
    };
  }

  /**
   * Takes the next reading. An identical duplicate is skipped; a reading that is earlier than the one before is a
   * RangeError.
   *
   * @throws {Refusal} when the probe has two different readings at one instant
   */
  add(at: UtcMs, celsius: Celsius): void {
    if (this.readings === 0) {
      this.at = this.seating.from;
      this.celsius = celsius;
      this.first = celsius;
      this.inComfort = this.isComfortable(celsius);
      this.firstAt = at;
      this.warmUp = this.isPossiblyCold(celsius) ? 'rising' : 'none';
    } else if (at <= this.at) {
      if (at < this.at) throw new RangeError(`the readings of ${this.seating.probe} are not in order`);
      if (celsius !== this.celsius) throw conflict(this.seating.probe, at, this.celsius as Celsius, celsius);
      return;
    }
    this.readings += 1;
    if (celsius < this.min) this.min = celsius;
    if (celsius > this.max) this.max = celsius;
    if (this.warmUp === 'rising') this.followWarmUp(at, celsius);
    this.runTo(at, celsius);
  }

  /** Readings taken, duplicates not counted. */
  get count(): number {
    return this.readings;
  }

  /** What there is if the seating ends at `to`; takes nothing away, so that readings may go on. */
  endedAt(to: UtcMs): SeatingPart {
    const ended = this.copy();
    if (ended.readings > 0) ended.runTo(to, ended.celsius as Celsius);
    const { readings, observedFrom, observedTo, observedMs, aboveFirst, gaps, spells } = ended;
    return {
      readings,
      first: ended.first as Celsius,
      min: ended.min as Celsius,
      max: ended.max as Celsius,
      observed: observedFrom < 0 ? null : { from: durationMs(observedFrom), to: durationMs(observedTo) },
      observedMs,
      aboveFirst,
      degreeMinutesBelow: ended.degreeMinutes,
      gaps,
      spells,
      warmUp: ended.warmUpSoFar(),
    };
  }

  /** The same fold, to go on from here another time. */
  copy(): SeatingFold {
    const copy = new SeatingFold(this.seating, this.start, this.rules);
    Object.assign(copy, this);
    copy.gaps = [...this.gaps];
    copy.spells = {
      certainCold: this.spells.certainCold.copy(),
      possibleCold: this.spells.possibleCold.copy(),
      certainHot: this.spells.certainHot.copy(),
      possibleHot: this.spells.possibleHot.copy(),
    };
    return copy;
  }

  /** From the latest reading to the next, or to the seating's end. */
  private runTo(at: number, celsius: Celsius): void {
    const from = this.at - this.start;
    const to = at - this.start;
    const before = this.celsius;
    const wasInComfort = this.inComfort;
    this.at = at;
    this.celsius = celsius;
    this.inComfort = celsius === before ? wasInComfort : this.isComfortable(celsius);
    if (!isObserved(from, to, this.rules.maxGapSeconds)) return;
    if (this.observedFrom < 0) this.observedFrom = from;
    else if (from > this.observedTo) this.addGap(this.observedTo, from);
    this.observedTo = to;
    this.observedMs += to - from;
    this.aboveFirst += ((before - this.first + (celsius - this.first)) / 2) * (to - from);
    if (wasInComfort && this.inComfort) return;
    this.addLine({
      from: durationMs(from),
      to: durationMs(to),
      first: before as Celsius,
      last: celsius,
      uncertainty: this.seating.uncertainty,
    });
  }

  private addLine(line: Line): void {
    this.degreeMinutes += degreeMinutesBelow(this.rules.thresholdCelsius, line);
    for (const name of LIMIT_NAMES) {
      const past = pastIn(line, this.limits[name]);
      if (past !== null) this.spells[name].add(past);
    }
  }

  private addGap(from: number, to: number): void {
    const gap = { from: durationMs(from), to: durationMs(to) };
    this.gaps.push(gap);
    for (const name of ['possibleCold', 'possibleHot'] as const) this.spells[name].add(throughout(gap));
  }

  private followWarmUp(at: UtcMs, celsius: Celsius): void {
    this.warmUpMs = at - this.firstAt;
    if (this.warmUpMs > WARM_UP_MS_MAX || celsius < this.celsius - STEP) this.warmUp = 'none';
    else if (!this.isPossiblyCold(celsius))
      this.warmUp = celsius - this.first >= WARM_UP_RISE_MIN ? 'over' : 'none';
  }

  private warmUpSoFar(): WarmUp | null {
    const isOver = this.warmUp === 'over';
    if (!isOver && (this.warmUp === 'none' || this.celsius - this.first < WARM_UP_RISE_MIN / 2)) return null;
    return { fromCelsius: this.first as Celsius, minutes: this.warmUpMs / MS_PER_MINUTE, isOver };
  }

  private isPossiblyCold(celsius: Celsius): boolean {
    return isPast(this.limits.possibleCold, celsius, this.seating.uncertainty);
  }

  /** Not even possibly past a limit: nothing to add up, which is so for nearly every reading. */
  private isComfortable(celsius: number): boolean {
    const { thresholdCelsius, hotCelsius } = this.rules;
    const { uncertainty } = this.seating;
    return (
      thresholdCelsius - (celsius - uncertainty) < ROUNDING_DEGREES &&
      celsius + uncertainty - hotCelsius < ROUNDING_DEGREES
    );
  }
}

/** Time past a limit from end to end, both included. */
export const throughout = ({ from, to }: Span) => ({ from, to, throughStart: true, throughEnd: true });
