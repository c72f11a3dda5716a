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
import { bestPace, measuredPace, type Pace, surer, type TimePair } from './pace.js';

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
  const boots = told.map((boot): BootEvidence => {
    const { pairs, isDisputed } = heldAgainstCounter(boot.pairs, known);
    // Where hosts contradict each other, not even its neighbours tell when it ran.
    return { ...boot, pairs, lastMs: isDisputed ? boardTime(BOARD_MS_WRAP) : boot.lastMs };
  });
  const pace = surer(known, bestPace(boots.map(({ pairs }) => pairs)));
  const placed = new Map<number, Placement>();
  for (const { boot, pairs } of boots) {
    const placement = byPairs(pairs, pace);
    if (placement !== null) placed.set(boot, placement);
  }
  for (const boot of contradicted(boots, placed)) placed.delete(boot);
  for (const run of unplacedRuns(boots, placed)) betweenNeighbours(run, end, pace, placed);
  return placed;
}

function byPairs(pairs: readonly TimePair[], usual: Pace): Placement | null {
  const knots = knotsOf(pairs);
  const first = knots[0];
  const last = knots.at(-1);
  if (first === undefined || last === undefined) return null;
  const pace = surer(usual, measuredPace(pairs));
  const from = (knot: Knot, at: BoardMs) => {
    const elapsed = at - knot.boardMs;
    return {
      utc: utcMs(Math.round(knot.utc + elapsed * pace.rate)),
      within: durationMs(knot.within + Math.abs(elapsed) * pace.within),
    };
  };
  return {
    provenBy: pairs.some(({ by }) => by === 'host') ? 'host' : 'clock',
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
 * Boots that would still have been running when the next one had begun: their counter ran slower than was
 * assumed, so that what lies beyond their evidence proves nothing.
 */
function contradicted(boots: readonly BootEvidence[], placed: ReadonlyMap<number, Placement>): number[] {
  return boots.flatMap(({ boot, lastMs }, index): number[] => {
    const following = boots.slice(index + 1).find((each) => placed.has(each.boot));
    const mine = placed.get(boot);
    if (!mine || !following) return [];
    const stop = mine.at(lastMs);
    const start = placed.get(following.boot)!.at(0 as BoardMs);
    return stop.utc - start.utc > stop.within + start.within + PROVEN_WITHIN ? [boot] : [];
  });
}

interface Run {
  readonly before: BootEvidence | null;
  readonly boots: readonly BootEvidence[];
  readonly after: BootEvidence | null;
}

/** Boots in a row that nothing places by themselves, with the placed ones around them. */
function unplacedRuns(boots: readonly BootEvidence[], placed: ReadonlyMap<number, Placement>): Run[] {
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
  placed: Map<number, Placement>,
): void {
  if (before === null) return;
  const start = placed.get(before.boot)!.at(before.lastMs);
  const stop =
    after === null ? { utc: end, within: durationMs(0) } : placed.get(after.boot)!.at(0 as BoardMs);
  const length = boots.reduce((sum, { lastMs }) => sum + lastMs * rate, 0);
  const slack = stop.utc - start.utc - length;
  const within = durationMs(Math.abs(slack) / 2 + Math.max(start.within, stop.within));
  if (within > PROVEN_WITHIN) return;
  let zero = start.utc + slack / 2;
  for (const { boot, lastMs } of boots) {
    const from = zero;
    placed.set(boot, {
      provenBy: 'neighbours',
      at: (boardMs) => ({ utc: utcMs(Math.round(from + boardMs * rate)), within }),
    });
    zero += lastMs * rate;
  }
}
