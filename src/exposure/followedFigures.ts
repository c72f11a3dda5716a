import type { UtcMs } from '../units/time.js';
import { type figuresIn, figuresOf } from './figures.js';
import type { RuleSet } from './ruleSet.js';
import { RunningFold } from './runningFold.js';
import { SeatingFold } from './seatingFold.js';
import { countWhile, seatingsIn } from './timeline.js';
import type { Observation, Seating } from './types.js';

/** How the figures of an exposure in a window are found. */
export type FiguresIn = typeof figuresIn;

/**
 * `figuresIn` for one exposure that is asked for again and again while its readings come in: a reading costs one step,
 * once. A list of readings may grow at its end, have late ones put in their place, and lose old ones from its beginning;
 * readings that are taken back or corrected come as another list.
 */
export function followedFigures(): FiguresIn {
  /** By where the window begins: one whose load is not known to the minute has several. */
  const windows = new Map<UtcMs, { readonly rules: RuleSet; readonly seatings: Map<string, Followed> }>();
  return ({ cup, seatings }, window, observationsOf, rules) => {
    const known = windows.get(window.from);
    const before = known?.rules === rules ? known.seatings : null;
    const now = new Map<string, Followed>();
    const parts = seatingsIn(cup, seatings, window).map((seating) => {
      const readings = observationsOf(seating.probe);
      const key = [seating.probe, seating.from, seating.uncertainty].join(' ');
      const followed = before?.get(key);
      const one = followed?.holdsOf(readings)
        ? followed
        : new Followed(readings, seating, new SeatingFold(seating, window.from, rules));
      now.set(key, one);
      return one.fold.upTo(seating.to, readings);
    });
    windows.set(window.from, { rules, seatings: now });
    return figuresOf(parts, window, rules);
  };
}

/** A seating's fold, and what to know it by whether all it took is still all there is. */
class Followed {
  readonly fold: RunningFold;
  private readonly first: Observation | undefined;

  constructor(
    private readonly list: readonly Observation[],
    private readonly seating: Seating,
    fold: SeatingFold,
  ) {
    this.fold = new RunningFold(fold);
    this.first = list[this.begin()];
  }

  /** Whether it took exactly those readings of the list that lie between the seating's start and the last it took. */
  holdsOf(list: readonly Observation[]): boolean {
    if (list !== this.list) return false;
    const { count, after } = this.fold;
    if (count === 0) return true;
    const begin = this.begin();
    return list[begin] === this.first && countWhile(list, (at) => at <= after) - begin === count;
  }

  private begin(): number {
    return countWhile(this.list, (at) => at < this.seating.from);
  }
}
