import {
  type BoardMs,
  boardMs,
  type DurationMs,
  durationMs,
  minutes,
  type UtcMs,
  utcMs,
} from '../units/time.js';
import { type TimePair, UNMEASURED } from './pace.js';

/**
 * A board's pages bear the second of its clock, but only modulo a few: enough to follow the clock from page to page once
 * one of them is known in full. Pure.
 */
export interface ClockSecond {
  readonly boardMs: BoardMs;
  /** Unix seconds modulo `modulus` that had begun. */
  readonly second: number;
}

/** Within a block of this length pairs are averaged: a mark tells whole seconds only. */
const BLOCK: DurationMs = minutes(10);

/**
 * The pairs that marks come to, one a block of ten minutes, and one at either end.
 *
 * @param known pairs of the same boot, in any order
 * @param modulus seconds
 * @param within how far a mark may be wrong, either way, taken as the middle of its second
 */
export function pairsOfSeconds(
  known: readonly TimePair[],
  marks: readonly ClockSecond[],
  modulus: number,
  within: DurationMs,
): TimePair[] {
  const ascending = [...known, ...marks].sort((a, b) => a.boardMs - b.boardMs);
  const solved = new Map<ClockSecond, UtcMs>();
  for (const way of [ascending, [...ascending].reverse()]) {
    let last: Moment | null = null;
    for (const point of way) {
      const isMark = 'second' in point;
      const utc: UtcMs | null = isMark
        ? (solved.get(point) ?? (last && unwrap(point, last, modulus, within)))
        : point.utc;
      if (utc === null) {
        // No clock goes on so: it was set in between, or too long has passed.
        last = null;
        continue;
      }
      if (isMark) solved.set(point, utc);
      last = { boardMs: point.boardMs, utc };
    }
  }
  const moments = [...solved].map(([{ boardMs: at }, utc]) => ({ boardMs: at, utc }));
  return blocks(
    moments.sort((a, b) => a.boardMs - b.boardMs),
    within,
  );
}

interface Moment {
  readonly boardMs: BoardMs;
  readonly utc: UtcMs;
}

/** The middle of the mark's second that lies nearest to what `from` foretells; null when two might be meant, or none. */
function unwrap(mark: ClockSecond, from: Moment, modulus: number, within: DurationMs): UtcMs | null {
  const elapsed = mark.boardMs - from.boardMs;
  const doubt = Math.abs(elapsed) * UNMEASURED.within + 2 * within;
  if (doubt >= (modulus * 1000) / 2) return null;
  const foretold = from.utc + elapsed;
  const round = modulus * 1000;
  const off = (((mark.second * 1000 + 500 - foretold) % round) + round) % round;
  const nearest = off > round / 2 ? off - round : off;
  return Math.abs(nearest) > doubt ? null : utcMs(Math.round(foretold + nearest));
}

/** Means of blocks; the first mark and the last stand for themselves, so that no part of a short boot is far from a proof. */
function blocks(points: readonly Moment[], within: DurationMs): TimePair[] {
  const groups: Moment[][] = [];
  for (const point of points) {
    const group = groups.at(-1);
    if (group && point.boardMs - group[0]!.boardMs < BLOCK) group.push(point);
    else groups.push([point]);
  }
  const mean = (numbers: readonly number[]) => numbers.reduce((sum, each) => sum + each, 0) / numbers.length;
  const [first, last] = [groups[0], groups.at(-1)];
  if (first !== undefined && first.length > 1) groups.unshift(first.slice(0, 1));
  if (last !== undefined && last.length > 1) groups.push(last.slice(-1));
  return groups.map((group) => ({
    boardMs: boardMs(Math.round(mean(group.map((point) => point.boardMs)))),
    utc: utcMs(Math.round(mean(group.map((point) => point.utc)))),
    within: durationMs(within),
    by: 'clock' as const,
  }));
}
