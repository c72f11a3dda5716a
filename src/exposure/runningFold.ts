import type { UtcMs } from '../units/time.js';
import type { SeatingFold, SeatingPart } from './seatingFold.js';
import { countWhile } from './timeline.js';
import type { Observation } from './types.js';

/** A step back costs at most this many readings more than the late one made stale. */
const CHECKPOINT_READINGS = 64;

/** A seating's fold with points on its way to which it can return. */
export class RunningFold {
  private readonly checkpoints: Point[];
  private now: Point;

  constructor(fold: SeatingFold) {
    this.now = { fold, after: Number.NEGATIVE_INFINITY };
    this.checkpoints = [{ ...this.now, fold: fold.copy() }];
  }

  get probe(): string {
    return this.now.fold.seating.probe;
  }

  /** Readings it took and did not forget, duplicates not counted. */
  get count(): number {
    return this.now.fold.count;
  }

  /** The instant of the last of them, before all time when there is none. */
  get after(): number {
    return this.now.after;
  }

  /** Forgets what it took at `at` and later. */
  forget(at: UtcMs): void {
    this.goBackWhile((after) => after >= at);
  }

  private goBackWhile(isTooFar: (after: number) => boolean): void {
    if (!isTooFar(this.now.after)) return;
    while (isTooFar((this.checkpoints.at(-1) as Point).after)) this.checkpoints.pop();
    const { fold, after } = this.checkpoints.at(-1) as Point;
    this.now = { fold: fold.copy(), after };
  }

  /** What the seating comes to if it ends at `to`. */
  upTo(to: UtcMs, readings: readonly Observation[]): SeatingPart {
    this.goBackWhile((after) => after > to);
    const { fold, after } = this.now;
    const taken = (at: UtcMs) => at <= after || at < fold.seating.from;
    for (let index = countWhile(readings, taken); index < readings.length; index += 1) {
      const { at, celsius } = readings[index] as Observation;
      if (at > to) break;
      fold.add(at, celsius);
      this.now.after = at;
      if (fold.count % CHECKPOINT_READINGS === 0) this.checkpoints.push({ fold: fold.copy(), after: at });
    }
    return fold.endedAt(to);
  }
}

interface Point {
  readonly fold: SeatingFold;
  /** The instant of the last reading it holds. */
  after: number;
}
