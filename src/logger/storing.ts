import { type Hindrance, Unwritable } from '../store/sqlite.js';
import type { Clock } from '../units/clock.js';
import { type DurationMs, durationMs, type MonotonicMs, seconds, type UtcMs } from '../units/time.js';

/** A time in which nothing can be stored. */
export interface Outage {
  readonly since: UtcMs;
  readonly why: Hindrance;
  /** One sentence for people. */
  readonly words: string;
}

/** Keeps a logger going while its store cannot be written: nothing is tried but now and then, until it can. */
export interface Storing {
  /** Null while all is stored. */
  readonly outage: Outage | null;
  /** Does what writes, unless nothing can be stored now. What it cannot write begins an outage. */
  attempt(task: () => void): void;
  /** To be called regularly: does `task`, or tries, when it is time to, whether the store can be written again. */
  look(task: () => void): void;
}

/** It is tried again after this time, twice as long each time, up to the limit. */
const BACK_OFF: DurationMs = seconds(2);
export const BACK_OFF_MAX: DurationMs = seconds(60);
/** When it was stored for so long, the next outage is a new one. */
const STEADY: DurationMs = seconds(60);

/**
 * @param retry takes the store anew, and puts the outage on record
 * @param onBegin told of an outage when it begins, and again when it has become another trouble
 * @param onEnd told when it was put on record: things go on
 */
export function storing(options: {
  readonly clock: Pick<Clock, 'monotonic'>;
  /** The logger's own time. */
  readonly now: () => UtcMs;
  readonly retry: (outage: Outage) => void;
  readonly onBegin: (outage: Outage) => void;
  readonly onEnd: (outage: Outage) => void;
  /** Whether to wait for what passes; otherwise it is a failure like any other. */
  readonly waits: boolean;
  /** Told of the first failure, after which nothing is done any more. */
  readonly fail: (error: unknown) => void;
}): Storing {
  const { clock, now, retry, onBegin, onEnd, waits, fail } = options;
  let outage: Outage | null = null;
  let isOver = false;
  let tries = 0;
  let tryAt = 0 as MonotonicMs;
  let storedSince: number = clock.monotonic();

  const begin = ({ why, message }: Unwritable) => {
    const at = clock.monotonic();
    if (outage === null && at - storedSince >= STEADY) tries = 0;
    tryAt = (at + Math.min(BACK_OFF * 2 ** tries, BACK_OFF_MAX)) as MonotonicMs;
    tries += 1;
    if (outage?.why === why) return;
    outage = { since: outage?.since ?? now(), why, words: message };
    onBegin(outage);
  };
  const attempt = (task: () => void) => {
    if (isOver) return;
    try {
      task();
    } catch (error) {
      if (waits && error instanceof Unwritable) return begin(error);
      isOver = true;
      fail(error);
    }
  };
  return {
    get outage() {
      return outage;
    },
    attempt(task) {
      if (outage === null) attempt(task);
    },
    look(task) {
      if (outage === null) return attempt(task);
      if (clock.monotonic() < tryAt) return;
      const over = outage;
      attempt(() => {
        retry(over);
        outage = null;
        storedSince = clock.monotonic();
        onEnd(over);
      });
    },
  };
}

/** How long an outage has lasted. */
export const lasted = (outage: Outage, now: UtcMs): DurationMs => durationMs(Math.max(0, now - outage.since));
