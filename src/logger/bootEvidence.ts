import type { MarkEvent } from '../carrier/events.js';
import { LOG_SECOND_MODULUS } from '../carrier/wire/frames.js';
import { agree, heldAgainstCounter } from '../exposure/againstCounter.js';
import { type BootEvidence, HOST_WITHIN } from '../exposure/bootPlacement.js';
import { type ClockSecond, pairsOfSeconds } from '../exposure/clockSeconds.js';
import { CRYSTAL_OFF_MAX, type Pace, type TimePair } from '../exposure/pace.js';
import type { Fact } from '../store/facts.js';
import type { Store } from '../store/store.js';
import type { BoardId } from '../units/ids.js';
import {
  BOARD_MS_WRAP,
  type BoardMs,
  boardMs,
  durationMs,
  later,
  minutes,
  type UtcMs,
  utcMs,
} from '../units/time.js';
import type { BoardHistory } from './boardHistory.js';
import type { BootLog } from './bootPages.js';
import type { ClockGoesOn } from './clockGoesOn.js';

/** A moment at which a host knows both times of a board's present boot. */
export interface LivePair {
  readonly boot: number;
  readonly boardMs: BoardMs;
  readonly utc: UtcMs;
}

export type ClockDisproved = Extract<Fact, { type: 'clock-disproved' }>;

/** What a store knows of when a boot ran. */
export interface Evidence extends BootEvidence {
  /** Times of its clock that its counter contradicts, and that are not on record yet. */
  readonly disproved: readonly ClockDisproved[];
}

/** The board tells the second that has begun, and may notice a new one late while it scans. */
export const WITHIN_SECOND = durationMs(500);
const CLOCK_WITHIN = durationMs(700);
/** The same of a page's second, which is told from the counter when the last comparison was up to a minute ago. */
const SECOND_WITHIN = durationMs(1000);
/** A comparison of the clock with a host's: what the clock tells, and the label of its line. */
export const COMPARED_WITHIN = durationMs(CLOCK_WITHIN + HOST_WITHIN);

const hostPair = (at: BoardMs, utc: UtcMs): TimePair => ({
  boardMs: at,
  utc,
  within: HOST_WITHIN,
  by: 'host',
});

export const heardPairs = (store: Store, board: BoardId, boot: number): TimePair[] =>
  store.heardEnds(board, boot).map(({ boardMs: at, utc }) => hostPair(at, utc));

/** What is asked about a boot. */
interface Asked {
  readonly store: Store;
  readonly history: BoardHistory;
  readonly board: BoardId;
  readonly boot: number;
  /** Null when nothing new of the boot was read. */
  readonly log: BootLog | null;
  readonly live: LivePair | null;
  readonly marks: readonly MarkEvent[];
  /** The board's pace as hosts have measured it. */
  readonly known: Pace;
  readonly goesOn: ClockGoesOn;
}

/**
 * A time is proven by this evidence, in this order:
 * 1. a host that heard the boot;
 * 2. the board's clock, where a comparison before found it right and it goes on from there unset, else where the next
 *    comparison did and it goes on to there (`BoardHistory.clockError`); wherever it goes on, it and not the counter is the ruler,
 *    and a host that finds it wrong all the same is one that was moved: it counts from when it was heard (`movedComputers`);
 * 3. the same clock by its error, where a later comparison in the same boot found it wrong (`correctedPairs`);
 * 4. the counter, from and between all these (`placeBoots`), each of which must be what some counter can have counted
 *    (`heldAgainstCounter`), and no further than its pace is known;
 * 5. the boots before and after, for one that fills the time between them.
 */
export function evidenceOf(asked: Asked): Evidence {
  const { history, board, boot, log, marks, goesOn } = asked;
  const hosts = hostPairs(asked);
  const clock = clockTimes(log, boot, marks);
  const seconds = secondsOf(log);
  const scans = (log?.scans ?? []).flatMap(({ boardMs: at, lastMs }) => [
    { boardMs: at },
    { boardMs: lastMs },
  ]);
  // One that was moved before anything is known of the boot divides nothing.
  const cuts = history.movedComputers(board, boot, goesOn).filter((cut) => {
    const known = [hosts.filter((host) => !isOfMoved(host, cut)), clock, scans];
    return known.some((some) => some.some(({ boardMs: at }) => at < cut.boardMs));
  });
  const partOf = (pair: TimePair): number =>
    cuts.findLastIndex((cut) => cut.boardMs <= pair.boardMs || (pair.by === 'host' && isOfMoved(pair, cut)));
  const disproved: ClockDisproved[] = [];
  const parts = [-1, ...cuts.keys()].map((part) => {
    const isIn = (by: 'host' | 'clock') => (at: { boardMs: BoardMs; utc?: UtcMs }) =>
      partOf({ boardMs: at.boardMs, utc: at.utc ?? utcMs(0), within: HOST_WITHIN, by }) === part;
    const stretch = evidenceOfStretch(
      asked,
      hosts.filter(isIn('host')),
      clock.filter(isIn('clock')),
      seconds.filter(isIn('clock')),
    );
    disproved.push(...stretch.disproved);
    return { from: boardMs(cuts[part]?.boardMs ?? 0), pairs: stretch.pairs };
  });
  const [first, ...moved] = parts;
  let [begin, last] = [Number.POSITIVE_INFINITY, 0];
  // Of weeks there are more than a call takes arguments.
  for (const some of [hosts, ...parts.map(({ pairs }) => pairs), scans])
    for (const { boardMs: at } of some) [begin, last] = [Math.min(begin, at), Math.max(last, at)];
  // A counter that may have come round orders nothing: such readings are kept, and prove nothing.
  if (last - begin > BOARD_MS_WRAP / 2)
    return { boot, pairs: [], lastMs: boardMs(BOARD_MS_WRAP), disproved: [] };
  const end = { board, boot, boardMs: last, utc: toldAt(last, clock) };
  const isClockedToTheEnd = history.clockError(end, goesOn) !== null;
  return { boot, pairs: first!.pairs, moved, lastMs: boardMs(last), isClockedToTheEnd, disproved };
}

/** Hosts that heard the boot, and when. */
function hostPairs({ store, history, board, boot, live }: Asked): TimePair[] {
  const told = history.firstHeard(board, boot);
  const heard = heardPairs(store, board, boot);
  const hosts = [...heard, ...(live?.boot === boot ? [hostPair(live.boardMs, live.utc)] : [])];
  const first = told === null ? null : hostPair(told.boardMs, told.utc);
  // The line that told of a boot may have been read late, which nothing puts right; those that came soon after it show that.
  if (first !== null && hosts.every((host) => agree(host, first))) hosts.push(first);
  return hosts;
}

/** A moved computer hears a board for some seconds before it compares the clock. */
const COMPARES_WITHIN = minutes(1);

type Moved = ReturnType<BoardHistory['movedComputers']>[number];

/** Whether a host that heard the board shortly before a comparison was the moved one, by the time that it told. */
function isOfMoved(pair: TimePair, { boardMs: at, at: utc, differenceMs }: Moved): boolean {
  const off = pair.utc - pair.boardMs - (utc - at);
  return at - pair.boardMs < COMPARES_WITHIN && Math.abs(off) < Math.abs(off - differenceMs);
}

/** The pairs of a stretch in which no host was moved, and the believed times of its clock that the counter contradicts. */
function evidenceOfStretch(
  { history, board, boot, known, goesOn }: Asked,
  hosts: readonly TimePair[],
  clock: readonly ClockTime[],
  seconds: readonly ClockSecond[],
): { readonly pairs: readonly TimePair[]; readonly disproved: readonly ClockDisproved[] } {
  const momentOf = (at: BoardMs) => ({ board, boot, boardMs: at, utc: toldAt(at, clock) });
  const wrongBy = (at: BoardMs) => history.foundWrong(momentOf(at), goesOn);
  const told = clock.flatMap(({ boardMs: at, utc }): ToldByClock[] => {
    const error = history.clockError(momentOf(at), goesOn);
    if (error === null) return [];
    const pair = (within: number): TimePair => ({
      ...{ boardMs: at, utc: later(utc, WITHIN_SECOND), within: durationMs(within), by: 'clock' },
    });
    // A comparison is no better than the second of the clock: only what is further off is disproved.
    return [{ atMost: pair(error + COMPARED_WITHIN), pair: pair(Math.max(CLOCK_WITHIN, error)) }];
  });
  const believed = told.map(({ pair }) => pair);
  const corrected = correctedPairs(clock, seconds, wrongBy, known).filter((pair) =>
    isNews(pair, [...hosts, ...believed], known),
  );
  const held = heldAgainstCounter([...hosts, ...told.map(({ atMost }) => atMost), ...corrected]);
  const disproved = held.disproved.map(
    ({ pair, differenceMs }): ClockDisproved => ({
      type: 'clock-disproved',
      board,
      boot,
      boardMs: pair.boardMs,
      differenceMs,
      at: utcMs(pair.utc - differenceMs),
    }),
  );
  // All pairs when hosts contradict each other: what is made of that is not decided here.
  if (held.isDisputed) return { pairs: hosts, disproved };
  const asTold = new Map(told.map(({ atMost, pair }) => [atMost, pair]));
  const pairs = held.pairs.map((pair) => asTold.get(pair) ?? pair);
  const followed = seconds.flatMap(({ boardMs: at, second }) => {
    const error = history.clockError(momentOf(at), goesOn);
    return error === null ? [] : [{ boardMs: at, second, error }];
  });
  const error = durationMs(
    followed.reduce<number>((most, mark) => Math.max(most, mark.error), SECOND_WITHIN),
  );
  return { pairs: [...pairs, ...pairsOfSeconds(pairs, followed, LOG_SECOND_MODULUS, error)], disproved };
}

interface ToldByClock {
  /** As it is held against the counter. */
  readonly atMost: TimePair;
  /** As it counts. */
  readonly pair: TimePair;
}

type FoundWrong = NonNullable<ReturnType<BoardHistory['foundWrong']>>;

/**
 * What a clock that was found wrong told in the same boot until then, by as much the other way. Whole seconds are what it
 * told, at the comparison too, which leaves just enough of what a proof may leave open. That it ran well meanwhile its own
 * error does not show: the counter, which is another oscillator, must come to the same.
 */
function correctedPairs(
  clock: readonly ClockTime[],
  seconds: readonly ClockSecond[],
  wrongBy: (at: BoardMs) => FoundWrong | null,
  known: Pace,
): TimePair[] {
  const runs = new Map<number, FoundWrong>();
  for (const { boardMs: at } of clock) {
    const seen = wrongBy(at);
    if (seen !== null) runs.set(seen.boardMs, seen);
  }
  return [...runs.values()].flatMap((seen) => {
    const isOf = ({ boardMs: at }: { boardMs: BoardMs }) => wrongBy(at)?.boardMs === seen.boardMs;
    const told = clock.filter(isOf).map(
      ({ boardMs: at, utc }): TimePair => ({
        boardMs: at,
        utc: later(utc, WITHIN_SECOND),
        within: CLOCK_WITHIN,
        by: 'clock',
      }),
    );
    const followed = pairsOfSeconds(told, seconds.filter(isOf), LOG_SECOND_MODULUS, SECOND_WITHIN);
    const pairs = [...told, ...followed].map(
      ({ boardMs: at, utc, within, by }): TimePair => ({
        boardMs: at,
        utc: utcMs(utc - seen.differenceMs),
        within: durationMs(within + COMPARED_WITHIN),
        by,
      }),
    );
    const pace = known.within <= CRYSTAL_OFF_MAX ? known : { rate: 1, within: CRYSTAL_OFF_MAX };
    const comesToTheSame = ({ boardMs: at, utc, within }: TimePair): boolean => {
      const elapsed = seen.boardMs - at;
      const apart = Math.abs(utc + elapsed * pace.rate - seen.at);
      return apart <= within + HOST_WITHIN + elapsed * pace.within;
    };
    return pairs.every(comesToTheSame) ? pairs : [];
  });
}

/** Whether others leave more open at the time of a pair than the pair does. */
function isNews(pair: TimePair, others: readonly TimePair[], known: Pace): boolean {
  const away = others.map((other) => pair.boardMs - other.boardMs);
  if (Math.min(...away) <= 0 && Math.max(...away) >= 0) return false;
  return others.every(
    ({ within }, index) => within + Math.abs(away[index]!) * known.within > Number(pair.within),
  );
}

const secondsOf = (log: BootLog | null): ClockSecond[] =>
  (log?.scans ?? []).flatMap(({ second, boardMs: at }) => (second === null ? [] : [{ boardMs: at, second }]));

interface ClockTime {
  readonly boardMs: BoardMs;
  readonly utc: UtcMs;
}

/** The times in full that a boot's clock told while it ran, in board time. */
function clockTimes(log: BootLog | null, boot: number, marks: readonly MarkEvent[]): ClockTime[] {
  const tables = (log?.tables ?? []).flatMap(({ boardMs: at, utc, clock }) =>
    clock === 'running' && utc !== null ? [{ boardMs: at, utc }] : [],
  );
  const pressed = marks.flatMap(({ markBoot, markMs, utc }) =>
    markBoot === boot && utc !== null ? [{ boardMs: markMs, utc }] : [],
  );
  return [...tables, ...pressed].sort((a, b) => a.boardMs - b.boardMs);
}

/**
 * The clock time by which a page's second counts on. A board that is set says its time in full before its next scan, so that
 * the seconds until then go on from the one before.
 */
const runOf = (at: number, clock: readonly ClockTime[]): ClockTime | undefined =>
  clock.findLast((time) => time.boardMs <= at) ?? clock[0];

/** What the clock told at a moment, going by the counter from when it told its time in full. */
function toldAt(at: number, clock: readonly ClockTime[]): number | null {
  const run = runOf(at, clock);
  return run === undefined ? null : run.utc + at - run.boardMs;
}
