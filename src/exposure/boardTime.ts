import {
  BOARD_MS_WRAP,
  type BoardMs,
  type DurationMs,
  type MonotonicMs,
  minutes,
  type UtcMs,
  utcMs,
} from '../units/time.js';

/**
 * Where one boot of one board lies in UTC. The board's counter is the ruler; the host's monotonic clock
 * keeps it from drifting away; the wall clock was read once, when the logger started, and may jump as it
 * likes afterwards.
 */
export interface Epoch {
  /** Host monotonic minus board time: the smallest seen lately, because a delay can only add. */
  readonly offsetMs: number;
  /** What `offsetMs` was when the current window began, or as the epoch settled. */
  readonly fromMs: number;
  /** The smallest offset since the current window began, which replaces `offsetMs` at its end. */
  readonly windowMs: number;
  readonly windowLines: number;
  /** Board time up to which a line that comes earlier than all before it shows that those were late, by however much. */
  readonly settlesUntilMs: number;
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

/** A busy computer may read the first lines of a boot late, all of them for a minute; after this it is no delay (j). */
export const SETTLES: DurationMs = minutes(2);

/** The epoch of a boot, from its first line. */
export function startEpoch(board: BoardMs, host: MonotonicMs): Epoch {
  const offset = host - board;
  return {
    offsetMs: offset,
    fromMs: offset,
    windowMs: offset,
    windowLines: 1,
    settlesUntilMs: board + SETTLES,
  };
}

/** An epoch that goes on where the host's clock has moved: what was labelled before holds. */
export const goOn = (board: BoardMs, host: MonotonicMs): Epoch => ({
  ...startEpoch(board, host),
  settlesUntilMs: Number.NEGATIVE_INFINITY,
});

/**
 * The epoch after one more line. `jumpMs` is how far the host's clock moved against the board when that
 * was too far to be believed, else 0; the epoch then stays as it was.
 *
 * @param slept whether the host's clock stood still since the line before, as far as the host knows
 */
export function followEpoch(
  epoch: Epoch,
  board: BoardMs,
  host: MonotonicMs,
  slept = false,
): { readonly epoch: Epoch; readonly jumpMs: number } {
  const offset = host - board;
  const isSettling = board < epoch.settlesUntilMs && !slept;
  // Lines that were kept for a computer while it slept come all at once, each a little earlier than the one before.
  const jumpMs = offset - (offset < epoch.offsetMs && !isSettling ? epoch.fromMs : epoch.offsetMs);
  if (isSettling) {
    // Late itself.
    if (jumpMs > JUMP_MS) return { epoch, jumpMs: 0 };
  } else if (Math.abs(jumpMs) > JUMP_MS) return { epoch, jumpMs };
  const windowMs = Math.min(epoch.windowMs, offset);
  if (epoch.windowLines + 1 < WINDOW_LINES) {
    const offsetMs = Math.min(epoch.offsetMs, offset);
    const fromMs = isSettling ? offsetMs : epoch.fromMs;
    return { epoch: { ...epoch, offsetMs, fromMs, windowMs, windowLines: epoch.windowLines + 1 }, jumpMs: 0 };
  }
  const next = { offsetMs: windowMs, fromMs: windowMs, windowMs: Number.POSITIVE_INFINITY, windowLines: 0 };
  return { epoch: { ...epoch, ...next }, jumpMs: 0 };
}

/** A board time as it would be had the counter not come round, next to one so told before. */
export function unwrapped(board: BoardMs, near: number): BoardMs {
  return (board + BOARD_MS_WRAP * Math.round((near - board) / BOARD_MS_WRAP)) as BoardMs;
}

/** The UTC label of a moment of this epoch, to the millisecond. */
export function boardToUtc(epoch: Epoch, board: BoardMs, anchor: Anchor): UtcMs {
  return utcMs(Math.round(board + epoch.offsetMs - anchor.monotonic + anchor.utc));
}
