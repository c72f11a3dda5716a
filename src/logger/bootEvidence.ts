import type { MarkEvent } from '../carrier/events.js';
import { LOG_SECOND_MODULUS } from '../carrier/wire/frames.js';
import { agree, heldAgainstCounter } from '../exposure/againstCounter.js';
import { type BootEvidence, HOST_WITHIN } from '../exposure/bootPlacement.js';
import { type ClockSecond, pairsOfSeconds } from '../exposure/clockSeconds.js';
import { CRYSTAL_OFF_MAX, type Pace, type TimePair, UNMEASURED } from '../exposure/pace.js';
import type { Fact } from '../store/facts.js';
import type { Store } from '../store/store.js';
import type { BoardId } from '../units/ids.js';
import { BOARD_MS_WRAP, type BoardMs, boardMs, durationMs, later, type UtcMs, utcMs } from '../units/time.js';
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
const COMPARED_WITHIN = durationMs(CLOCK_WITHIN + HOST_WITHIN);

const hostPair = (at: BoardMs, utc: UtcMs): TimePair => ({
  boardMs: at,
  utc,
  within: HOST_WITHIN,
  by: 'host',
});

export const heardPairs = (store: Store, board: BoardId, boot: number): TimePair[] =>
  store.heardEnds(board, boot).map(({ boardMs: at, utc }) => hostPair(at, utc));

/**
 * @param log null when nothing new of the boot was read
 * @param known the board's pace as hosts have measured it
 * @param found what the boots after this one disprove
 * @param goesOn whether the clock was not set between two moments
 */
export function evidenceOf(of: {
  readonly store: Store;
  readonly history: BoardHistory;
  readonly board: BoardId;
  readonly boot: number;
  readonly log: BootLog | null;
  readonly live: LivePair | null;
  readonly marks: readonly MarkEvent[];
  readonly known: Pace;
  readonly found: readonly ClockDisproved[];
  readonly goesOn: ClockGoesOn;
}): Evidence {
  const { store, history, board, boot, log, live, marks, known, found, goesOn } = of;
  const heard = heardPairs(store, board, boot);
  const told = history.firstHeard(board, boot);
  const hosts: TimePair[] = [...heard, ...(live?.boot === boot ? [hostPair(live.boardMs, live.utc)] : [])];
  const first = told === null ? null : hostPair(told.boardMs, told.utc);
  // The line that told of a boot may have been read late, which nothing puts right; those that came soon after it show that.
  if (first !== null && hosts.every((host) => agree(host, first, UNMEASURED))) hosts.push(first);
  const clock = clockTimes(log, boot, marks);
  const believed = clock.flatMap(({ boardMs: at, utc }): TimePair[] => {
    const error = history.clockError(board, boot, at, found, goesOn);
    if (error === null) return [];
    const within = durationMs(Math.max(CLOCK_WITHIN, error));
    return [{ boardMs: at, utc: later(utc, WITHIN_SECOND), within, by: 'clock' }];
  });
  const wrongBy = (at: BoardMs) => history.foundWrong(board, boot, at, found, goesOn);
  const corrected = correctedPairs(clock, secondsOf(log), wrongBy, known).filter((pair) =>
    isNews(pair, [...hosts, ...believed], known),
  );
  const held = heldAgainstCounter([...hosts, ...believed, ...corrected], known);
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
  const wrong = new Set(
    [...held.dropped, ...history.disproved(board).filter((each) => each.boot === boot)].map((each) =>
      Number(each.boardMs),
    ),
  );
  const seconds = secondsOf(log).flatMap(({ boardMs: at, second }) => {
    if (wrong.has(runOf(at, clock))) return [];
    const error = history.clockError(board, boot, at, [...found, ...disproved], goesOn);
    return error === null ? [] : [{ boardMs: at, second, error }];
  });
  const error = durationMs(Math.max(SECOND_WITHIN, ...seconds.map((mark) => mark.error)));
  // All pairs when hosts contradict each other: what is made of that is not decided here.
  const pairs = held.isDisputed ? hosts : [...held.pairs];
  if (!held.isDisputed) pairs.push(...pairsOfSeconds(pairs, seconds, LOG_SECOND_MODULUS, error));
  let [begin, last] = [Number.POSITIVE_INFINITY, 0];
  // Of weeks there are more than a call takes arguments.
  const moments: readonly (readonly { readonly boardMs: BoardMs }[])[] = [
    ...[hosts, believed, pairs],
    ...(log?.scans ?? []).map(({ boardMs: first, lastMs: end }) => [{ boardMs: first }, { boardMs: end }]),
  ];
  for (const some of moments)
    for (const { boardMs: at } of some) [begin, last] = [Math.min(begin, at), Math.max(last, at)];
  // A counter that may have come round orders nothing: such readings are kept, and prove nothing.
  if (last - begin > BOARD_MS_WRAP / 2)
    return { boot, pairs: [], lastMs: boardMs(BOARD_MS_WRAP), disproved: [] };
  return { boot, pairs, lastMs: boardMs(last), disproved };
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
 * The board time by whose clock time a page's second counts on. A board that is set says its time in full before its next
 * scan, so that the seconds until then go on from the one before.
 */
function runOf(at: BoardMs, clock: readonly ClockTime[]): number {
  return (clock.findLast((time) => time.boardMs <= at) ?? clock[0])?.boardMs ?? Number.NaN;
}
