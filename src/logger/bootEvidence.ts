import type { MarkEvent } from '../carrier/events.js';
import { LOG_SECOND_MODULUS } from '../carrier/wire/frames.js';
import { readPage, type ScansPage, type TablePage } from '../carrier/wire/logPage.js';
import { heldAgainstCounter } from '../exposure/againstCounter.js';
import { type BootEvidence, HOST_WITHIN } from '../exposure/bootPlacement.js';
import { pairsOfSeconds } from '../exposure/clockSeconds.js';
import type { Pace, TimePair } from '../exposure/pace.js';
import type { Fact } from '../store/facts.js';
import type { Store } from '../store/store.js';
import type { BoardId } from '../units/ids.js';
import { BOARD_MS_WRAP, type BoardMs, boardMs, durationMs, later, type UtcMs, utcMs } from '../units/time.js';
import type { BoardHistory } from './boardHistory.js';

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

export interface BootLog {
  readonly tables: readonly TablePage[];
  readonly scans: readonly ScansPage[];
}

export function logOf(store: Store, board: BoardId, boot: number): BootLog {
  const pages = store.pagesOf(board, boot).flatMap(({ bytes }) => readPage(bytes) ?? []);
  return {
    tables: pages.filter((page) => page.kind === 'table'),
    scans: pages.filter((page) => page.kind === 'scans'),
  };
}

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
}): Evidence {
  const { store, history, board, boot, log, live, marks, known, found } = of;
  const heard = heardPairs(store, board, boot);
  const told = history.firstHeard(board, boot);
  const hosts: TimePair[] = [
    ...heard,
    // Before the first scan was heard: no nearer to the boot's beginning than the line that told of it.
    ...(heard.length === 0 && told !== null ? [hostPair(told.boardMs, told.utc)] : []),
    ...(live?.boot === boot ? [hostPair(live.boardMs, live.utc)] : []),
  ];
  const clock = clockTimes(log, boot, marks);
  const believed = clock.flatMap(({ boardMs: at, utc }): TimePair[] => {
    const error = history.clockError(board, boot, at, found);
    if (error === null) return [];
    const within = durationMs(Math.max(CLOCK_WITHIN, error));
    return [{ boardMs: at, utc: later(utc, WITHIN_SECOND), within, by: 'clock' }];
  });
  const held = heldAgainstCounter([...hosts, ...believed], known);
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
  const seconds = (log?.scans ?? []).flatMap(({ second, scans }) => {
    const at = scans[0]?.boardMs;
    if (second === null || at === undefined || wrong.has(runOf(at, clock))) return [];
    const error = history.clockError(board, boot, at, [...found, ...disproved]);
    return error === null ? [] : [{ boardMs: at, second, error }];
  });
  const error = durationMs(Math.max(SECOND_WITHIN, ...seconds.map((mark) => mark.error)));
  // All pairs when hosts contradict each other: what is made of that is not decided here.
  const pairs = held.isDisputed ? hosts : [...held.pairs];
  if (!held.isDisputed) pairs.push(...pairsOfSeconds(pairs, seconds, LOG_SECOND_MODULUS, error));
  const times = [
    ...[...hosts, ...believed, ...pairs].map((pair) => pair.boardMs),
    ...(log?.scans ?? []).flatMap(({ scans }) => scans.map((scan) => scan.boardMs)),
  ];
  // A counter that may have come round orders nothing: such readings are kept, and prove nothing.
  if (Math.max(...times) - Math.min(...times) > BOARD_MS_WRAP / 2)
    return { boot, pairs: [], lastMs: boardMs(BOARD_MS_WRAP), disproved: [] };
  return { boot, pairs, lastMs: boardMs(Math.max(0, ...times)), disproved };
}

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
