import { type TimePair, UNMEASURED } from './pace.js';

/**
 * A boot's pairs held against its counter: what two pairs have between them must be what some counter can have counted. A
 * clock can be set by anybody while the board runs; the counter cannot. Of this one's pace nothing is taken for granted: a
 * clock chip is the better oscillator, and a counter that ran well yesterday may run otherwise in the cold. Pure.
 */
export interface Held {
  /** Those that may all be true, in board time. */
  readonly pairs: readonly TimePair[];
  /** Times of the clock that are not believed, because of the ones below. */
  readonly dropped: readonly TimePair[];
  /** Those among the dropped that the counter contradicts. */
  readonly disproved: readonly Disproved[];
  /** Whether hosts contradict each other: then nobody knows which of them was right. */
  readonly isDisputed: boolean;
}

export interface Disproved {
  readonly pair: TimePair;
  /** The time that it told minus the one that the counter comes to. */
  readonly differenceMs: number;
}

/** @param pairs of one boot, in any order */
export function heldAgainstCounter(pairs: readonly TimePair[]): Held {
  const sorted = [...pairs].sort((a, b) => a.boardMs - b.boardMs);
  const hosts = sorted.filter(({ by }) => by === 'host');
  const clocks = sorted.filter(({ by }) => by === 'clock');
  if (hosts.some((host) => !hosts.every((other) => agree(host, other))))
    return { pairs: [], dropped: clocks, disproved: [], isDisputed: true };
  const kept: TimePair[] = [];
  const dropped: TimePair[] = [];
  const disproved: Disproved[] = [];
  // A clock that was set in between was right at most after the last setting: what lies before one tells nothing.
  let wasSet = false;
  for (const pair of clocks.reverse()) {
    const by = nearest([...hosts, ...kept], pair, (other) => !agree(other, pair));
    if (by !== null) disproved.push({ pair, differenceMs: Math.round(apart(by, pair)) });
    wasSet ||= by !== null && kept.length > 0;
    if (by !== null || wasSet) dropped.push(pair);
    else kept.push(pair);
  }
  const rest = [...hosts, ...kept].sort((a, b) => a.boardMs - b.boardMs);
  return { pairs: rest, dropped, disproved, isDisputed: false };
}

/** How much later the second pair lies than the counter makes it from the first, ms. */
const apart = (from: TimePair, to: TimePair): number =>
  to.utc - from.utc - (to.boardMs - from.boardMs) * UNMEASURED.rate;

/** Whether a counter can have run from one to the other. */
export const agree = (a: TimePair, b: TimePair): boolean =>
  Math.abs(apart(a, b)) <= a.within + b.within + Math.abs(b.boardMs - a.boardMs) * UNMEASURED.within;

function nearest(
  among: readonly TimePair[],
  to: TimePair,
  isMeant: (pair: TimePair) => boolean,
): TimePair | null {
  const away = (pair: TimePair) => Math.abs(pair.boardMs - to.boardMs);
  return among
    .filter(isMeant)
    .reduce<TimePair | null>((best, pair) => (best === null || away(pair) < away(best) ? pair : best), null);
}

/** A time that a boot is placed by. */
export interface Knot {
  readonly boardMs: number;
  readonly utc: number;
  readonly within: number;
}

/**
 * The pairs, each at most so far from those that are surer as a counter can have run between them: two pairs a moment
 * apart would make it run at any pace, for each may be wrong by its own `within`.
 *
 * @param pairs as they were held against the counter
 */
export function knotsOf(pairs: readonly TimePair[]): Knot[] {
  const [least, most] = [UNMEASURED.rate - UNMEASURED.within, UNMEASURED.rate + UNMEASURED.within];
  const isHost = ({ by }: TimePair) => (by === 'host' ? 0 : 1);
  const surest = [...pairs].sort(
    (a, b) => a.within - b.within || isHost(a) - isHost(b) || a.boardMs - b.boardMs,
  );
  const knots: Knot[] = [];
  for (const { boardMs, utc, within } of surest) {
    let [earliest, latest] = [Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY];
    let [low, high] = [utc - within, utc + within];
    for (const knot of knots) {
      const elapsed = boardMs - knot.boardMs;
      const [early, late] = elapsed >= 0 ? [least, most] : [most, least];
      earliest = Math.max(earliest, knot.utc + elapsed * early);
      latest = Math.min(latest, knot.utc + elapsed * late);
      low = Math.max(low, knot.utc - knot.within + elapsed * early);
      high = Math.min(high, knot.utc + knot.within + elapsed * late);
    }
    const at = Math.min(latest, Math.max(earliest, utc));
    knots.push({ boardMs, utc: at, within: Math.max(within, at - low, high - at) });
  }
  return knots.sort((a, b) => a.boardMs - b.boardMs);
}
