import { BOARD_MS_WRAP, type BoardMs, type MonotonicMs, type UtcMs, utcMs } from '../units/time.js';

/**
 * Where one boot of one board lies in UTC. The board's counter is the ruler; the host's monotonic clock
 * keeps it from drifting away; the wall clock was read once, when the logger started, and may jump as it
 * likes afterwards.
 */
export interface Epoch {
  /** Host monotonic minus board time: the smallest seen lately, because a delay can only add. */
  readonly offsetMs: number;
  /** The smallest offset since the current window began, which replaces `offsetMs` at its end. */
  readonly windowMs: number;
  readonly windowLines: number;
}

/** A host clock pair: the same instant on both clocks. */
export interface Anchor {
  readonly utc: UtcMs;
  readonly monotonic: MonotonicMs;
}

/** Lines from which the smallest delay is taken before the ruler is set anew. */
const WINDOW_LINES = 60;
/**
 * A host clock that has moved against the board by more than this since the last line has been stopped or
 * stepped (a suspended machine); the board goes on being the ruler. A board whose oscillator is 0.5 % off
 * moves 0.3 s in the longest window.
 */
export const JUMP_MS = 2000;

/** The epoch of a boot, from its first line. */
export function startEpoch(board: BoardMs, host: MonotonicMs): Epoch {
  const offset = host - board;
  return { offsetMs: offset, windowMs: offset, windowLines: 1 };
}

/**
 * The epoch after one more line. `jumpMs` is how far the host's clock moved against the board when that
 * was too far to be believed, else 0; the epoch then stays as it was.
 */
export function followEpoch(
  epoch: Epoch,
  board: BoardMs,
  host: MonotonicMs,
): { readonly epoch: Epoch; readonly jumpMs: number } {
  const offset = host - board;
  const jumpMs = offset - epoch.offsetMs;
  if (Math.abs(jumpMs) > JUMP_MS) return { epoch, jumpMs };
  const windowMs = Math.min(epoch.windowMs, offset);
  if (epoch.windowLines + 1 < WINDOW_LINES) {
    return {
      epoch: { offsetMs: Math.min(epoch.offsetMs, offset), windowMs, windowLines: epoch.windowLines + 1 },
      jumpMs: 0,
    };
  }
  return { epoch: { offsetMs: windowMs, windowMs: Number.POSITIVE_INFINITY, windowLines: 0 }, jumpMs: 0 };
}

/** A board time as it would be had the counter not come round, next to one so told before. */
export function unwrapped(board: BoardMs, near: number): BoardMs {
  return (board + BOARD_MS_WRAP * Math.round((near - board) / BOARD_MS_WRAP)) as BoardMs;
}

/** The UTC label of a moment of this epoch, to the millisecond. */
export function boardToUtc(epoch: Epoch, board: BoardMs, anchor: Anchor): UtcMs {
  return utcMs(Math.round(board + epoch.offsetMs - anchor.monotonic + anchor.utc));
}
