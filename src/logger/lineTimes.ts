import type { CarrierEvent, ScanEvent } from '../carrier/events.js';
import {
  type Anchor,
  boardToUtc,
  type Epoch,
  followEpoch,
  goOn,
  isSilence,
  startEpoch,
  unwrapped,
} from '../exposure/boardTime.js';
import { HOST_WITHIN } from '../exposure/bootPlacement.js';
import type { Store } from '../store/store.js';
import type { BoardId } from '../units/ids.js';
import { type BoardMs, boardMs, type MonotonicMs, monotonicMs, seconds, type UtcMs } from '../units/time.js';
import type { Level } from './say.js';

/** Something to be done inside a transaction. */
export type Write = () => void;

type Line = Extract<CarrierEvent, { boardMs: unknown }>;

/** When the lines of one source were sent: labels of the boards' times, kept in line with the host's clock. */
export interface LineTimes {
  place(line: Line): UtcMs;
  /** The same of a scan; `keep` records that a host heard it as it was taken. */
  placeScan(scan: ScanEvent): { readonly utc: UtcMs; readonly keep: Write };
  /** The last line that was placed, by its board's own reckoning. */
  last(): {
    readonly board: BoardId;
    readonly boot: number;
    readonly boardMs: BoardMs;
    readonly utc: UtcMs;
  } | null;
  /** What puts right in the store what was labelled wrongly, in order; of one object, until `corrected`. */
  corrections(): readonly Write[];
  /** They are written. */
  corrected(): void;
}

/** Lateness of a boot's first lines that is worth a word, seconds. */
const TOLD_FROM_S = 1;
/** Steps of this computer's clock that come so soon after each other are one. */
const SAME_STEP = seconds(10);

interface Current {
  readonly board: BoardId;
  readonly boot: number;
  epoch: Epoch;
  lastMs: BoardMs;
  /** Board time of the first line that was heard, and the largest offset by which scans were labelled since. */
  firstMs: BoardMs;
  labelledMs: number;
  /** Board time of the last scan. */
  scanMs: BoardMs;
  /** Whether this computer's clock was stopped or stepped since then: what was heard before and after tells no pace. */
  isMoved: boolean;
}

/** @param anchor the host's two clocks at one instant, taken when the logger started */
export function lineTimes(
  store: Pick<Store, 'relabel' | 'keepHeard'>,
  anchor: Anchor,
  say: (sentence: string, level?: Level) => void,
): LineTimes {
  let session = anchor;
  let current: Current | null = null;
  let last: ReturnType<LineTimes['last']> = null;
  /** The last step of this computer's clock, and the largest that was told of those that came with it. */
  let steppedAt = monotonicMs(Number.NEGATIVE_INFINITY);
  let toldStepMs = 0;
  let corrections: Write[] = [];

  const begin = ({ board, bootCount: boot, boardMs, arrival }: Line): Current => ({
    ...{ board, boot, epoch: startEpoch(boardMs, arrival.monotonic), isMoved: false },
    ...{ lastMs: boardMs, firstMs: boardMs, scanMs: boardMs, labelledMs: Number.NEGATIVE_INFINITY },
  });

  const place = (line: Line): Current => {
    if (current === null || current.board !== line.board || current.boot !== line.bootCount) {
      current = begin(line);
    } else {
      const at = unwrapped(line.boardMs, current.lastMs);
      if (isSentAtOnce(line) || (line.kind !== 'scan' && isSilence(current.epoch, at)))
        follow(current, at, line.arrival.monotonic);
      current.lastMs = at;
    }
    const utc = boardToUtc(current.epoch, current.lastMs, session);
    last = { board: line.board, boot: line.bootCount, boardMs: line.boardMs, utc };
    return current;
  };

  const follow = (now: Current, at: BoardMs, host: MonotonicMs): void => {
    const before = now.epoch;
    const step = followEpoch(before, at, host);
    now.epoch = step.epoch;
    if (step.jumpMs !== 0) stepped(now, at, host, step.jumpMs);
    else {
      if (step.isAnew) beginAnew(now, before, at);
      relabelLate(now, at);
    }
  };

  /** The host stood still or was stepped: its clock is shifted so that the board stays the ruler. */
  const stepped = (now: Current, at: BoardMs, host: MonotonicMs, jumpMs: number): void => {
    session = { ...session, monotonic: monotonicMs(session.monotonic + jumpMs) };
    now.epoch = goOn(at, host);
    now.labelledMs = Number.NEGATIVE_INFINITY;
    now.isMoved = true;
    // After a sleep the lines that were kept meanwhile come in one go; the largest step counts.
    const isSame = host - steppedAt < SAME_STEP && Math.abs(jumpMs) <= toldStepMs;
    steppedAt = host;
    toldStepMs = isSame ? toldStepMs : Math.abs(jumpMs);
    if (!isSame)
      say(
        `this computer's clock and the board's differ by ${Math.round(jumpMs / 1000)} s more than before (asleep?); the board's counts`,
        'warn',
      );
  };

  /** Heard again: what the clocks ran apart by meanwhile shows from here on, and holds for a scan that came before this line, too. */
  const beginAnew = (now: Current, before: Epoch, lineTime: BoardMs): void => {
    const { board, boot, epoch, scanMs } = now;
    now.labelledMs = Number.NEGATIVE_INFINITY;
    now.firstMs = lineTime;
    if (!isSilence(before, scanMs)) return;
    now.firstMs = scanMs;
    now.labelledMs = epoch.offsetMs;
    const zero = boardToUtc(epoch, boardMs(0), session);
    corrections.push(() => store.relabel(board, boot, scanMs, zero));
  };

  /** While an epoch settles: what was labelled by lines that had come late is labelled by the earliest. */
  const relabelLate = (now: Current, lineTime: number): void => {
    const { board, boot, epoch, firstMs, labelledMs } = now;
    if (lineTime >= epoch.settlesUntilMs || labelledMs - epoch.offsetMs <= HOST_WITHIN) return;
    now.labelledMs = epoch.offsetMs;
    const zero = boardToUtc(epoch, boardMs(0), session);
    corrections.push(() => store.relabel(board, boot, firstMs, zero));
    const late = (labelledMs - epoch.offsetMs) / 1000;
    if (late >= TOLD_FROM_S)
      say(
        `the first lines of boot ${boot} of board ${board} came up to ${late.toFixed(1)} s late; the times of its first scans were put right`,
      );
  };

  return {
    place(line) {
      place(line);
      return last!.utc;
    },
    placeScan(scan) {
      const now = place(scan);
      const { board, boot, boardMs: at, utc } = last!;
      now.labelledMs = Math.max(now.labelledMs, now.epoch.offsetMs);
      now.scanMs = now.lastMs;
      const keep = () => {
        store.keepHeard(board, boot, at, utc, now.isMoved);
        now.isMoved = false;
      };
      return { utc, keep };
    },
    last: () => last,
    corrections: () => corrections,
    corrected() {
      corrections = [];
    },
  };
}

/** Lines that are told as they are sent, each second or so: a scan's time is when it began. */
const isSentAtOnce = ({ kind }: Line): boolean => kind === 'heartbeat' || kind === 'probes';
