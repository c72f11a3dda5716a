import { Refusal } from '../units/refusal.js';
import type { Celsius, CelsiusDifference } from '../units/temperature.js';
import {
  between,
  type DurationMs,
  durationMs,
  formatInstant,
  MS_PER_SECOND,
  type UtcMs,
} from '../units/time.js';
import { distinct } from './trustworthy.js';
import type { Observation, Seating } from './types.js';

/** The part of an exposure that is looked at; both ends included. */
export interface Window {
  readonly from: UtcMs;
  readonly to: UtcMs;
}

/** A stretch in which the temperature runs in a straight line. Times count from the window's start. */
export interface ObservedStretch {
  readonly kind: 'observed';
  readonly from: DurationMs;
  readonly to: DurationMs;
  readonly first: Celsius;
  readonly last: Celsius;
  readonly uncertainty: CelsiusDifference;
}

/** A stretch in which nobody knows the temperature. */
export interface GapStretch {
  readonly kind: 'gap';
  readonly from: DurationMs;
  readonly to: DurationMs;
}

export type Stretch = ObservedStretch | GapStretch;

/** What is known of a cup's temperature: stretches that cover the window without overlap, in order. */
export interface Timeline {
  readonly window: Window;
  readonly stretches: readonly Stretch[];
  /** Every reading inside a seating, used or not; in order. */
  readonly readings: readonly Observation[];
}

/** All trustworthy observations of a probe, corrected, sorted by time. */
export type ObservationsOf = (probe: string) => readonly Observation[];

/**
 * Lays out what is observed and what is gap. Observed is every instant of a seating between two neighbouring
 * readings of its probe, both inside the seating and at most `maxGapSeconds` apart (temperature linear), and the stretch
 * from its start to its first reading or from its last reading to its end, if no longer than that (the nearest
 * reading holds). Seatings are clipped to the window. Linear in the readings inside the seatings.
 *
 * @throws {Refusal} when seatings overlap or a probe has two different readings at one instant
 */
export function layOut(
  cup: string,
  window: Window,
  seatings: readonly Seating[],
  observationsOf: ObservationsOf,
  maxGapSeconds: number,
): Timeline {
  const readings: Observation[] = [];
  const stretches: Stretch[] = [];
  let known = durationMs(0);
  const gapUntil = (to: DurationMs) => {
    if (to > known) stretches.push({ kind: 'gap', from: known, to });
  };
  for (const seating of seatingsIn(cup, seatings, window)) {
    const inside = distinct(within(observationsOf(seating.probe), seating), seating.probe);
    for (const reading of inside) readings.push(reading);
    for (const [left, right] of neighbours(seating, inside)) {
      const from = between(window.from, left.at);
      const to = between(window.from, right.at);
      if (!isObserved(from, to, maxGapSeconds)) continue;
      gapUntil(from);
      const { uncertainty } = seating;
      stretches.push({ kind: 'observed', from, to, first: left.celsius, last: right.celsius, uncertainty });
      known = to;
    }
  }
  gapUntil(between(window.from, window.to));
  return { window, stretches, readings };
}

/** Whether the time between two neighbouring readings, ms, counts as observed. */
export const isObserved = (from: number, to: number, maxGapSeconds: number): boolean =>
  to > from && to - from <= maxGapSeconds * MS_PER_SECOND;

/**
 * The seatings clipped to a window, in order of time.
 *
 * @throws {Refusal} when two share more than an instant
 */
export const seatingsIn = (cup: string, seatings: readonly Seating[], window: Window): Seating[] =>
  clipped(inOrder(cup, seatings), window);

/** The first two seatings that share more than an instant, or null. */
export function overlap(seatings: readonly Seating[]): readonly [Seating, Seating] | null {
  const sorted = byStart(seatings);
  for (const [index, next] of sorted.entries()) {
    const previous = sorted[index - 1];
    if (previous !== undefined && next.from < previous.to) return [previous, next];
  }
  return null;
}

const byStart = (seatings: readonly Seating[]): Seating[] =>
  [...seatings].sort((a, b) => a.from - b.from || a.to - b.to);

function inOrder(cup: string, seatings: readonly Seating[]): readonly Seating[] {
  const clash = overlap(seatings);
  if (clash !== null)
    throw new Refusal(
      `cup ${cup} sits in two slots at once, from ${formatInstant(clash[1].from)} on (probes ${clash[0].probe} and ${clash[1].probe}); end the first seating before the second begins`,
    );
  return byStart(seatings);
}

const clipped = (seatings: readonly Seating[], window: Window): Seating[] =>
  seatings
    .map((seating) => ({
      ...seating,
      from: Math.max(seating.from, window.from) as UtcMs,
      to: Math.min(seating.to, window.to) as UtcMs,
    }))
    .filter(({ from, to }) => from <= to);

/** The seating's readings in pairs; its ends take part as if the nearest reading were made there. */
function* neighbours(
  seating: Seating,
  inside: readonly Observation[],
): Generator<readonly [Observation, Observation]> {
  const first = inside[0];
  const last = inside.at(-1);
  if (first === undefined || last === undefined) return;
  let left: Observation = { at: seating.from, celsius: first.celsius };
  for (const right of inside) {
    yield [left, right];
    left = right;
  }
  yield [last, { at: seating.to, celsius: last.celsius }];
}

/** The observations inside a window, both ends included, by binary search. */
export function within(sorted: readonly Observation[], { from, to }: Window): readonly Observation[] {
  return sorted.slice(
    countWhile(sorted, (at) => at < from),
    countWhile(sorted, (at) => at <= to),
  );
}

/** How many observations at the beginning fulfil a condition that, once false, stays false. */
export function countWhile(sorted: readonly Observation[], condition: (at: UtcMs) => boolean): number {
  let low = 0;
  let high = sorted.length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (condition((sorted[middle] as Observation).at)) low = middle + 1;
    else high = middle;
  }
  return low;
}
