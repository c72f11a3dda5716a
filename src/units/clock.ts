import { randomBytes } from 'node:crypto';
import { uptime } from 'node:os';
import { performance } from 'node:perf_hooks';
import { throughSleep } from './throughSleep.js';
import { type DurationMs, type MonotonicMs, monotonicMs, type UtcMs, utcMs } from './time.js';

/**
 * The one home of the wall clock, the timers and chance. Everything else takes them as arguments; the
 * tidy test forbids `Date.now`, `setTimeout`, `Math.random` and their kin elsewhere.
 */
export interface Clock {
  /** The wall clock. May jump; labels only. */
  utc(): UtcMs;
  /** Never jumps; stands still while the machine sleeps. */
  monotonic(): MonotonicMs;
  /** Never jumps either, and goes on while the machine sleeps: by it is told when something came. */
  steady(): MonotonicMs;
  /** Resolves after `duration`, or at once when `signal` is aborted. */
  sleep(duration: DurationMs, signal?: AbortSignal): Promise<void>;
  /** Calls `task` every `period` until the returned function is called. */
  every(period: DurationMs, task: () => void): () => void;
}

const monotonic = () => monotonicMs(performance.now());

export const systemClock: Clock = {
  utc: () => utcMs(Date.now()),
  monotonic,
  steady: throughSleep(monotonic, () => monotonicMs(uptime() * 1000)),
  sleep: (duration, signal) =>
    new Promise((resolve) => {
      if (signal?.aborted) return resolve();
      const done = () => {
        clearTimeout(timer);
        signal?.removeEventListener('abort', done);
        resolve();
      };
      const timer = setTimeout(done, duration);
      signal?.addEventListener('abort', done, { once: true });
    }),
  every: (period, task) => {
    const timer = setInterval(task, period);
    return () => clearInterval(timer);
  },
};

/** A source of chance. */
export interface Chance {
  /** A number drawn uniformly from [0, 1). */
  uniform(): number;
}

/** Chance that repeats: the same seed (a 32-bit whole number) gives the same draws (mulberry32). */
export function seededChance(seed: number): Chance {
  let state = seed >>> 0;
  return {
    uniform() {
      state = (state + 0x6d2b79f5) >>> 0;
      let t = state;
      t = Math.imul(t ^ (t >>> 15), t | 1);
      t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
      return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
    },
  };
}

/** Bytes nobody can guess: store ids and salts. */
export const unguessableBytes = (count: number): Uint8Array => randomBytes(count);
