import {
  BOARD_MS_WRAP,
  type BoardMs,
  boardMs as boardTime,
  type DurationMs,
  durationMs,
  type UtcMs,
  utcMs,
} from '../units/time.js';
import { heldAgainstCounter, type Knot, knotsOf } from './againstCounter.js';
import { bestPace, type Pace, type TimePair, UNMEASURED } from './pace.js';

/**
 * What ties a boot of a board that logged alone to UTC. Its counter is the ruler; the evidence is a host that listened, the
 * board's own clock chip, or the boots before and after it, between which it must fit.
 */
export interface BootEvidence {
  readonly boot: number;
  /** Believed pairs, in any order. */
  readonly pairs: readonly TimePair[];
  /** Board time of its last known line or scan. */
  readonly lastMs: BoardMs;
  /** Hosts whose clocks were moved against all before: each counts from when it was heard, and nothing before it for it. */
  readonly moved?: readonly Stretch[];
  /** Whether a clock that goes on is the ruler at its end, so that a later boot that seems to begin before shows a computer that was set back. */
  readonly isClockedToTheEnd?: boolean;
}

/** Part of a boot, to be placed by its own pairs. */
export interface Stretch {
  readonly from: BoardMs;
  readonly pairs: readonly TimePair[];
}

export interface Placement {
  readonly provenBy: 'host' | 'clock' | 'neighbours';
  /** The instant of a board time of this boot, and how far it may be wrong. */
  at(boardMs: BoardMs): { readonly utc: UtcMs; readonly within: DurationMs };
}

/** A host's label of a line that it heard is this good. */
export const HOST_WITHIN: DurationMs = durationMs(200);
/** A reading further from its true time than this is no observation. */
export const PROVEN_WITHIN: DurationMs = durationMs(2000);

/**
 * Places the boots of one board. Those that nothing proves are absent from what is returned. Placed times of a boot go on
 * with its counter, at a pace that it can have, whatever the pairs: one that it contradicts is not used.
 *
 * @param told in the order in which the board ran them
 * @param end the last boot ended before this instant
 * @param known the board's pace as its other boots have shown it to hosts
 */
export function placeBoots(
  told: readonly BootEvidence[],
  end: UtcMs,
  known: Pace = bestPace([]),
): ReadonlyMap<number, Placement> {
  const boots = told.map(held);
  const pace = bestPace(
    boots.flatMap((boot) => stretchesOf(boot).map(({ pairs }) => pairs)),
    known,
  );
  const placed = new Map<number, Placed>();
  for (const boot of boots) {
    const placement = byStretches(stretchesOf(boot), pace);
    if (placement !== null) placed.set(boot.boot, placement);
  }
  for (const [boot, placement] of doubted(boots, placed)) placed.set(boot, placement);
  for (const run of unplacedRuns(boots, placed)) betweenNeighbours(run, end, pace, placed);
  return placed;
}

interface Placed extends Placement {
  /** Board time of the last pair. */
  readonly lastPairMs: BoardMs;
}

const stretchesOf = ({ pairs, moved = [] }: BootEvidence): Stretch[] => [
  { from: boardTime(0), pairs },
  ...moved,
];

function held(boot: BootEvidence): BootEvidence {
  const { pairs, isDisputed } = heldAgainstCounter(boot.pairs);
  const moved = (boot.moved ?? []).map(({ from, pairs: all }) => ({
    from,
    pairs: heldAgainstCounter(all).pairs,
  }));
  // Where hosts contradict each other, not even its neighbours tell when it ran.
  return { ...boot, pairs, moved, lastMs: isDisputed ? boardTime(BOARD_MS_WRAP) : boot.lastMs };
}

function byStretches(stretches: readonly Stretch[], usual: Pace): Placed | null {
  const placed = stretches.flatMap(({ from, pairs }) => {
    const placement = byPairs(pairs, usual);
    return placement === null ? [] : [{ from, placement }];
  });
  const [first, last] = [placed[0], placed.at(-1)];
  if (first === undefined || last === undefined) return null;
  return {
    provenBy: placed.some(({ placement }) => placement.provenBy === 'host') ? 'host' : 'clock',
    lastPairMs: last.placement.lastPairMs,
    at(boardMs) {
      const there = placed.findLast(({ from }) => from <= boardMs);
      if (there !== undefined) return there.placement.at(boardMs);
      // A host whose clock was moved says nothing of what was before it.
      return { utc: first.placement.at(boardMs).utc, within: durationMs(BOARD_MS_WRAP) };
    },
  };
}

function byPairs(pairs: readonly TimePair[], usual: Pace): Placed | null {
  const knots = knotsOf(pairs);
  const first = knots[0];
  const last = knots.at(-1);
  if (first === undefined || last === undefined) return null;
  const pace = bestPace([pairs], usual);
  const from = (knot: Knot, at: BoardMs) => {
    const elapsed = at - knot.boardMs;
    return {
      utc: utcMs(Math.round(knot.utc + elapsed * pace.rate)),
      within: durationMs(knot.within + Math.abs(elapsed) * pace.within),
    };
  };
  return {
    provenBy: pairs.some(({ by }) => by === 'host') ? 'host' : 'clock',
    lastPairMs: boardTime(last.boardMs),
    at(boardMs) {
      if (boardMs <= first.boardMs) return from(first, boardMs);
      if (boardMs >= last.boardMs) return from(last, boardMs);
      const after = knots.findIndex((knot) => knot.boardMs > boardMs);
      const [left, right] = [knots[after - 1]!, knots[after]!];
      const share = (boardMs - left.boardMs) / (right.boardMs - left.boardMs);
      return {
        utc: utcMs(Math.round(left.utc + share * (right.utc - left.utc))),
        within: durationMs(Math.max(left.within, right.within)),
      };
    },
  };
}

/**
 * Boots that would still have been running when the next one had begun: their counter ran otherwise than was assumed beyond
 * their last pair, so that this is less sure the further it lies from there. What is proven stands: where no counter can run
 * so, it is the computer of the later boot that was set back.
 */
function doubted(
  boots: readonly BootEvidence[],
  placed: ReadonlyMap<number, Placed>,
): ReadonlyMap<number, Placed> {
  const found = new Map<number, Placed>();
  for (const [index, { boot, lastMs, isClockedToTheEnd }] of boots.entries()) {
    const following = boots.slice(index + 1).find((each) => placed.has(each.boot));
    const mine = placed.get(boot);
    if (!mine || !following || isClockedToTheEnd) continue;
    const stop = mine.at(lastMs);
    const start = placed.get(following.boot)!.at(boardTime(0));
    const over = stop.utc - start.utc;
    const within = stop.within + start.within + PROVEN_WITHIN;
    const beyond = lastMs - mine.lastPairMs;
    if (over <= within || over > within + 2 * beyond * UNMEASURED.within) continue;
    found.set(boot, {
      ...mine,
      at(boardMs) {
        const placement = mine.at(boardMs);
        const share = Math.max(0, boardMs - mine.lastPairMs) / beyond;
        return { ...placement, within: durationMs(placement.within + share * over) };
      },
    });
  }
  return found;
}

interface Run {
  readonly before: BootEvidence | null;
  readonly boots: readonly BootEvidence[];
  readonly after: BootEvidence | null;
}

/** Boots in a row that nothing places by themselves, with the placed ones around them. */
function unplacedRuns(boots: readonly BootEvidence[], placed: ReadonlyMap<number, Placed>): Run[] {
  const runs: Run[] = [];
  let before: BootEvidence | null = null;
  let run: BootEvidence[] = [];
  for (const boot of boots) {
    if (!placed.has(boot.boot)) {
      run.push(boot);
      continue;
    }
    if (run.length > 0) runs.push({ before, boots: run, after: boot });
    run = [];
    before = boot;
  }
  if (run.length > 0) runs.push({ before, boots: run, after: null });
  return runs;
}

/** Boots that fill the time between their neighbours to within what a proof may leave open. */
function betweenNeighbours(
  { before, boots, after }: Run,
  end: UtcMs,
  { rate }: Pace,
  placed: Map<number, Placed>,
): void {
  if (before === null) return;
  const start = placed.get(before.boot)!.at(before.lastMs);
  const stop =
    after === null ? { utc: end, within: durationMs(0) } : placed.get(after.boot)!.at(boardTime(0));
  const length = boots.reduce((sum, { lastMs }) => sum + lastMs * rate, 0);
  const slack = stop.utc - start.utc - length;
  const within = durationMs(Math.abs(slack) / 2 + Math.max(start.within, stop.within));
  if (within > PROVEN_WITHIN) return;
  let zero = start.utc + slack / 2;
  for (const { boot, lastMs } of boots) {
    const from = zero;
    placed.set(boot, {
      provenBy: 'neighbours',
      lastPairMs: lastMs,
      at: (boardMs) => ({ utc: utcMs(Math.round(from + boardMs * rate)), within }),
    });
    zero += lastMs * rate;
  }
}
