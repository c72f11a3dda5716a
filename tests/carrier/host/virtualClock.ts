import type { Clock } from '../../../src/units/clock.js';
import { throughSleep } from '../../../src/units/throughSleep.js';
import {
  type DurationMs,
  type MonotonicMs,
  monotonicMs,
  type UtcMs,
  utcMs,
} from '../../../src/units/time.js';

/** A clock whose time passes only in `run`, as fast as what waits for it allows. */
export class VirtualClock implements Clock {
  #now = 0;
  #slept = 0;
  #stepped = 0;
  readonly #start: UtcMs;
  #waiting: { at: number; wake: () => void }[] = [];
  /** Things under way outside of this clock's time, such as reads of files. */
  #busy = 0;
  constructor(start: UtcMs) {
    this.#start = start;
  }

  utc(): UtcMs {
    return utcMs(this.#start + this.#now + this.#slept + this.#stepped);
  }
  monotonic() {
    return monotonicMs(this.#now);
  }
  steady: () => MonotonicMs = throughSleep(
    () => this.monotonic(),
    () => monotonicMs(77_000 + this.#now + this.#slept),
  );
  /** Someone sets the wall clock. */
  stepWallClock(byMs: number): void {
    this.#stepped += byMs;
  }
  /** The machine sleeps: the monotonic clock stands still. */
  suspend(forMs: number): void {
    this.#slept += forMs;
  }
  /** What has really passed, milliseconds. */
  get passed(): number {
    return this.#now + this.#slept;
  }

  sleep(duration: DurationMs, signal?: AbortSignal): Promise<void> {
    return new Promise((resolve) => {
      if (signal?.aborted) return resolve();
      const aborted = () => {
        this.#waiting = this.#waiting.filter((each) => each !== entry);
        resolve();
      };
      const wake = () => {
        signal?.removeEventListener('abort', aborted);
        resolve();
      };
      const entry = { at: this.#now + duration, wake };
      this.#waiting.push(entry);
      signal?.addEventListener('abort', aborted, { once: true });
    });
  }
  /** Without a promise and a signal for each turn: most of what happens in a test of hours is this. */
  every(period: DurationMs, task: () => void): () => void {
    let isStopped = false;
    const again = () => {
      if (isStopped) return;
      this.#waiting.push({
        at: this.#now + period,
        wake: () => {
          if (isStopped) return;
          task();
          again();
        },
      });
    };
    again();
    return () => {
      isStopped = true;
    };
  }

  /** Time stands still until `task` is done. */
  async hold<T>(task: () => Promise<T>): Promise<T> {
    this.#busy += 1;
    try {
      return await task();
    } finally {
      this.#busy -= 1;
    }
  }

  /** Lets time pass up to `untilMs` after the beginning. */
  async run(untilMs: number): Promise<void> {
    for (;;) {
      await this.settle();
      let next: { at: number; wake: () => void } | null = null;
      for (const each of this.#waiting)
        if (each.at <= untilMs && (next === null || each.at < next.at)) next = each;
      if (next === null) break;
      this.#waiting.splice(this.#waiting.indexOf(next), 1);
      this.#now = Math.max(this.#now, next.at);
      next.wake();
    }
    this.#now = untilMs;
  }
  /** Lets so much time pass. */
  pass(forMs: number): Promise<void> {
    return this.run(this.#now + forMs);
  }
  async settle(): Promise<void> {
    let quiet = 0;
    while (quiet < 3) {
      await new Promise((resolve) => setImmediate(resolve));
      quiet = this.#busy > 0 ? 0 : quiet + 1;
    }
  }
}
