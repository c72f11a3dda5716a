import type { Celsius } from '../units/temperature.js';
import type { UtcMs } from '../units/time.js';
import { figuresOf } from './figures.js';
import { rulingFrom, windowsOf } from './judge.js';
import type { RuleSet } from './ruleSet.js';
import { SeatingFold } from './seatingFold.js';
import { seatingsIn, type Window } from './timeline.js';
import type { CupRuling, Exposure, Seating } from './types.js';

/** One exposure and the rule set it is ruled by. */
export interface Case {
  readonly exposure: Exposure;
  readonly rules: RuleSet;
}

/** Rulings on many exposures at once from readings that come in order of time, probe by probe or mixed. */
export interface OrderedRulings {
  /** Every probe of the exposures, in order of first appearance. */
  readonly probes: readonly string[];
  feedOf(probe: string): ProbeFeed;
  /** What `judgeExposure` says of each case, in their order, to the last bit. */
  rulings(): CupRuling[];
}

/**
 * What became of a reading. `outside`: in no seating. `late`: in a seating, but after a later reading of its probe,
 * hence not taken. `conflict`: another temperature at the same instant, hence not taken.
 */
export type Taken = 'used' | 'outside' | 'late' | 'conflict';

/**
 * Rules in one pass over the readings. Its memory grows with exposures and gaps, not with readings.
 *
 * @throws {Refusal} when a cup is turned before it is loaded, or when seatings of a cup overlap
 */
export function orderedRulings(cases: readonly Case[]): OrderedRulings {
  const seats = new Map<string, Seat[]>();
  const judged = cases.map(({ exposure, rules }) => {
    const windows = windowsOf(exposure).map((window) => ({
      window,
      folds: seatingsIn(exposure.cup, exposure.seatings, window).map((seating) => ({
        seating,
        fold: new SeatingFold(seating, window.from, rules),
      })),
    }));
    for (const seating of exposure.seatings) seatsOf(seats, seating.probe).push(plainSeat(seating));
    for (const { folds } of windows)
      for (const { seating, fold } of folds)
        seatsOf(seats, seating.probe).push({ ...plainSeat(seating), fold });
    return { exposure, rules, windows };
  });
  const feeds = new Map([...seats].map(([probe, of]) => [probe, new ProbeFeed(of)]));
  return {
    probes: [...feeds.keys()],
    feedOf(probe) {
      const feed = feeds.get(probe);
      if (feed === undefined) throw new RangeError(`no exposure has the probe ${probe}`);
      return feed;
    },
    rulings: () =>
      judged.map(({ exposure, rules, windows }) => {
        const figures = windows.map(({ window, folds }) =>
          figuresOf(
            folds.map(({ seating, fold }) => fold.endedAt(seating.to)),
            window,
            rules,
          ),
        );
        return rulingFrom(exposure, figures, rules);
      }),
  };
}

/** When readings of a probe are wanted; without a fold only to tell that they are. */
interface Seat extends Window {
  readonly fold: SeatingFold | null;
}

const plainSeat = ({ from, to }: Seating): Seat => ({ from, to, fold: null });

function seatsOf(seats: Map<string, Seat[]>, probe: string): Seat[] {
  const known = seats.get(probe) ?? [];
  seats.set(probe, known);
  return known;
}

/** Leads the readings of one probe to the seatings they lie in. */
export class ProbeFeed {
  private readonly seats: readonly Seat[];
  private readonly spans: readonly Window[];
  private next = 0;
  private present: Seat[] = [];
  /** Until here, the end included, `present` holds. */
  private presentTo = Number.NEGATIVE_INFINITY;
  private at = Number.NEGATIVE_INFINITY;
  private usedAt = Number.NEGATIVE_INFINITY;
  private usedCelsius = 0;

  constructor(seats: readonly Seat[]) {
    this.seats = seats.toSorted((a, b) => a.from - b.from);
    this.spans = merged(this.seats);
  }

  take(at: UtcMs, celsius: Celsius): Taken {
    if (at < this.at) return this.covers(at) ? 'late' : 'outside';
    this.at = at;
    if (at > this.presentTo) this.moveTo(at);
    const { present } = this;
    if (present.length === 0) return 'outside';
    if (at === this.usedAt && celsius !== this.usedCelsius) return 'conflict';
    this.usedAt = at;
    this.usedCelsius = celsius;
    for (const { fold } of present) fold?.add(at, celsius);
    return 'used';
  }

  /** Whether an instant lies in a seating of the probe, by binary search. */
  covers(at: UtcMs): boolean {
    let low = 0;
    let high = this.spans.length;
    while (low < high) {
      const middle = (low + high) >>> 1;
      if ((this.spans[middle] as Window).to < at) low = middle + 1;
      else high = middle;
    }
    const span = this.spans[low];
    return span !== undefined && span.from <= at;
  }

  private moveTo(at: UtcMs): void {
    this.present = this.present.filter(({ to }) => to >= at);
    for (; this.next < this.seats.length; this.next += 1) {
      const seat = this.seats[this.next] as Seat;
      if (seat.from > at) break;
      if (seat.to >= at) this.present.push(seat);
    }
    // Readings are whole milliseconds: up to one before the next seat begins nothing changes.
    this.presentTo = Math.min(
      (this.seats[this.next]?.from ?? Number.POSITIVE_INFINITY) - 1,
      ...this.present.map(({ to }) => to),
    );
  }
}

/** Windows in order of their beginning, merged where they share an instant. */
function merged(windows: readonly Window[]): Window[] {
  const spans: { from: UtcMs; to: UtcMs }[] = [];
  for (const { from, to } of windows) {
    const last = spans.at(-1);
    if (last === undefined || from > last.to) spans.push({ from, to });
    else if (to > last.to) last.to = to;
  }
  return spans;
}
