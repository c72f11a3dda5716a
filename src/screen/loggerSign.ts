import type { LoggerRow } from '../store/store.js';
import {
  between,
  type DurationMs,
  durationMs,
  type MonotonicMs,
  seconds,
  type UtcMs,
} from '../units/time.js';

/** What the screen says of the logger. */
export interface LoggerSign {
  /** Whether it has been silent for too long. */
  readonly silent: boolean;
  readonly words: string;
  /** What to do about its silence, when that is not to start it again. */
  readonly cure?: string;
  /** Whether nobody needs it now. */
  readonly isResting?: true;
}

/** What is said of a silent logger while no cup rides: in the laboratory, or after the day. */
export const RESTING: LoggerSign = { silent: false, words: 'no logger at work', isResting: true };

/** A logger whose process lives while the disk does not let it write. */
export type Hindered = 'full' | 'read-only';
const CURES: Readonly<Record<Hindered, string>> = {
  full: 'make room, it then goes on by itself',
  'read-only': 'make the disk writable, it then goes on by itself',
};

/** What the screen has seen of the logger's beats. */
export interface Heard {
  readonly beat: UtcMs | null;
  /** How old the beat was when the screen first saw it. */
  readonly ageThen: DurationMs;
  readonly seen: MonotonicMs;
}

/** The logger beats about once a second; after this long without a beat something is wrong (j). */
export const SILENT_AFTER = seconds(10);

/**
 * Remembers when a new beat was seen. From then on its age is counted on the monotonic clock, so that a step
 * of the wall clock neither kills a logger nor keeps a dead one alive.
 */
export function hear(before: Heard | null, row: LoggerRow | null, utc: UtcMs, monotonic: MonotonicMs): Heard {
  const beat = row?.beat ?? null;
  if (before !== null && before.beat === beat) return before;
  // A first beat may be old. A later change was made just now, whatever the wall clock says.
  const age = before === null && beat !== null ? Math.max(0, between(beat, utc)) : 0;
  return { beat, ageThen: durationMs(age), seen: monotonic };
}

/**
 * Says whether the logger is alive, in words.
 *
 * @param hindered asked when it is silent: what keeps a living one from writing, null when nothing is known to
 */
export function loggerSign(
  heard: Heard,
  row: LoggerRow | null,
  monotonic: MonotonicMs,
  hindered: () => Hindered | null = () => null,
): LoggerSign {
  const age = heard.ageThen + (monotonic - heard.seen);
  if (age < SILENT_AFTER)
    return { silent: false, words: row === null ? 'waiting for the logger' : 'logging' };
  const why = row === null ? null : hindered();
  if (why !== null)
    return {
      silent: true,
      words: `nothing could be stored for ${told(age)}, the disk is ${why}`,
      cure: CURES[why],
    };
  return { silent: true, words: `no sign of the logger for ${told(age)}` };
}

const told = (ms: number): string => {
  const s = Math.floor(ms / 1000);
  if (s < 120) return `${s} s`;
  return s < 7200 ? `${Math.floor(s / 60)} min` : `${Math.floor(s / 3600)} h`;
};
