import {
  BOARD_MS_WRAP,
  type BoardMs,
  type DurationMs,
  type MonotonicMs,
  minutes,
  seconds,
  type UtcMs,
  utcMs,
} from '../units/time.js';
import { UNMEASURED } from './pace.js';

/**
 * Where one boot of one board lies in UTC. The board's counter is the ruler; the host's steady clock keeps it from drifting
 * away; the wall clock was read once, when the logger started, and may jump as it likes afterwards.
 */
export interface Epoch {
  /** Host's clock minus board time: the smallest seen lately, because a delay can only add. */
  readonly offsetMs: number;
  /** What `offsetMs` was when the current window began, or as the epoch settled. */
  readonly fromMs: number;
  /** The smallest offset since the current window began, which replaces `offsetMs` at its end. */
  readonly windowMs: number;
  /** The largest. */
  readonly windowMostMs: number;
  readonly windowLines: number;
  /** Board time up to which a line that comes earlier than all before it shows that those were late, by however much. */
  readonly settlesUntilMs: number;
  /** Board time of the last line. */
  readonly lastMs: number;
}

/** A host clock pair: the same instant on both clocks. */
export interface Anchor {
  readonly utc: UtcMs;
  readonly monotonic: MonotonicMs;
}

/** Lines from which the smallest delay is taken before the ruler is set anew. */
const WINDOW_LINES = 60;
/**
 * The host's clock and the board's that have moved by more than this against each other, and by more than two oscillators can,
 * show that the host's was stopped or stepped; the board goes on being the ruler.
 */
const JUMP_MS = 2000;
/** A board says something every second: after so long it was out of hearing, and how far the clocks ran apart is seen anew. */
const SILENT: DurationMs = seconds(30);

/** A busy computer may read the first lines of a boot late, all of them for a minute; after this it is no delay (j). */
export const SETTLES: DurationMs = minutes(2);

/** The epoch of a boot, from its first line. */
export function startEpoch(board: BoardMs, host: MonotonicMs): Epoch {
  const offset = host - board;
  return {
    offsetMs: offset,
    fromMs: offset,
    windowMs: offset,
    windowMostMs: offset,
    windowLines: 1,
    settlesUntilMs: board + SETTLES,
    lastMs: board,
  };
}

/** An epoch that goes on where the host's clock has moved: what was labelled before holds. */
export const goOn = (board: BoardMs, host: MonotonicMs): Epoch => ({
  ...startEpoch(board, host),
  settlesUntilMs: Number.NEGATIVE_INFINITY,
});

export interface Step {
  readonly epoch: Epoch;
  /** How far the host's clock moved against the board when that was too far to be believed, else 0; the epoch then stays as it was. */
  readonly jumpMs: number;
  /** Whether the board was heard again after a silence: labels since then may prove late, as at the beginning of a boot. */
  readonly isAnew: boolean;
}

/** Whether nothing had been heard for long when a line came of this board time. */
export const isSilence = (epoch: Epoch, board: BoardMs): boolean => board - epoch.lastMs > SILENT;

const NEW_WINDOW = {
  windowMs: Number.POSITIVE_INFINITY,
  windowMostMs: Number.NEGATIVE_INFINITY,
  windowLines: 0,
};

/** The epoch after one more line. */
export function followEpoch(epoch: Epoch, board: BoardMs, host: MonotonicMs): Step {
  const offset = host - board;
  const heard = { ...epoch, lastMs: Math.max(board, epoch.lastMs) };
  const jump = (jumpMs: number): Step => ({ epoch: heard, jumpMs, isAnew: false });
  if (isSilence(epoch, board)) {
    const apart = JUMP_MS + (board - epoch.lastMs) * UNMEASURED.within;
    const byMs = offset - epoch.offsetMs;
    if (byMs < -apart) return jump(byMs);
    // Later than that it is late, as lines are that were kept for the host.
    const anew = startEpoch(board, (board + epoch.offsetMs + Math.min(byMs, apart)) as MonotonicMs);
    return { epoch: anew, jumpMs: 0, isAnew: true };
  }
  const follow = (changes: Partial<Epoch>): Step => ({
    epoch: { ...heard, ...changes },
    jumpMs: 0,
    isAnew: false,
  });
  const isSettling = board < epoch.settlesUntilMs;
  // Lines that were kept for a computer whose clock stood still come all at once, each a little earlier than the one before.
  const early = epoch.fromMs - offset;
  if (!isSettling && early > JUMP_MS) return jump(offset - epoch.fromMs);
  const windowMs = Math.min(epoch.windowMs, offset);
  const windowMostMs = Math.max(epoch.windowMostMs, offset);
  if (epoch.windowLines + 1 < WINDOW_LINES) {
    const offsetMs = Math.min(epoch.offsetMs, offset);
    const fromMs = isSettling ? offsetMs : epoch.fromMs;
    return follow({ offsetMs, fromMs, windowMs, windowMostMs, windowLines: epoch.windowLines + 1 });
  }
  const laterMs = windowMs - epoch.offsetMs;
  // So many lines are not all late by as much. Those that come all at once are late, each by less than the one before.
  const isLate = laterMs > JUMP_MS;
  if (isLate && windowMostMs - windowMs < JUMP_MS) return jump(laterMs);
  const offsetMs = isLate ? epoch.offsetMs : windowMs;
  return follow({ offsetMs, fromMs: offsetMs, ...NEW_WINDOW });
}

/** A board time as it would be had the counter not come round, next to one so told before. */
export function unwrapped(board: BoardMs, near: number): BoardMs {
  return (board + BOARD_MS_WRAP * Math.round((near - board) / BOARD_MS_WRAP)) as BoardMs;
}

/** The UTC label of a moment of this epoch, to the millisecond. */
export function boardToUtc(epoch: Epoch, board: BoardMs, anchor: Anchor): UtcMs {
  return utcMs(Math.round(board + epoch.offsetMs - anchor.monotonic + anchor.utc));
}
