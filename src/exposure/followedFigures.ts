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
  let followed = new Map<string, Followed>();
  let rulesBefore: RuleSet | null = null;
  return ({ cup, seatings }, window, observationsOf, rules) => {
    const before = rules === rulesBefore ? followed : new Map<string, Followed>();
    const now = new Map<string, Followed>();
    const parts = seatingsIn(cup, seatings, window).map((seating) => {
      const readings = observationsOf(seating.probe);
      const key = [window.from, seating.probe, seating.from, seating.uncertainty].join(' ');
      const known = before.get(key);
      const one = known?.holdsOf(readings)
        ? known
        : new Followed(readings, seating, new SeatingFold(seating, window.from, rules));
      now.set(key, one);
      return one.fold.upTo(seating.to, readings);
    });
    followed = now;
    rulesBefore = rules;
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
