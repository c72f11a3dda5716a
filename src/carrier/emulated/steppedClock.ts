import type { Clock } from '../../units/clock.js';
import {
  type DurationMs,
  durationMs,
  later,
  type MonotonicMs,
  monotonicMs,
  type UtcMs,
} from '../../units/time.js';

interface Waiting {
  at: number;
  readonly period: DurationMs | null;
  readonly task: () => void;
}

/** A clock that stands still until it is moved on, for hosts that live in a board's simulated time. */
export class SteppedClock implements Clock {
  #now = 0;
  #waiting: Waiting[] = [];

  /** @param start what it shows at first */
  constructor(private readonly start: UtcMs) {}

  utc(): UtcMs {
    return later(this.start, durationMs(Math.floor(this.#now)));
  }
  monotonic(): MonotonicMs {
    return monotonicMs(this.#now);
  }
  steady(): MonotonicMs {
    return this.monotonic();
  }
  sleep(duration: DurationMs, signal?: AbortSignal): Promise<void> {
    return new Promise((resolve) => {
      if (signal?.aborted) return resolve();
      const waiting: Waiting = { at: this.#now + Math.max(0, duration), period: null, task: resolve };
      this.#waiting.push(waiting);
      signal?.addEventListener('abort', () => this.#drop(waiting, true), { once: true });
    });
  }
  every(period: DurationMs, task: () => void): () => void {
    const waiting: Waiting = { at: this.#now + period, period, task };
    this.#waiting.push(waiting);
    return () => this.#drop(waiting, false);
  }

  /** Moves on to `now`, milliseconds since it was made; what is due meanwhile happens in order, at its time. */
  moveTo(now: number): void {
    for (;;) {
      const next = this.#waiting.reduce<Waiting | null>(
        (first, each) => (each.at <= now && (first === null || each.at < first.at) ? each : first),
        null,
      );
      if (next === null) break;
      this.#now = Math.max(this.#now, next.at);
      if (next.period === null) this.#waiting = this.#waiting.filter((each) => each !== next);
      else next.at += next.period;
      next.task();
    }
    this.#now = Math.max(this.#now, now);
  }

  #drop(waiting: Waiting, isWoken: boolean): void {
    if (!this.#waiting.includes(waiting)) return;
    this.#waiting = this.#waiting.filter((each) => each !== waiting);
    if (isWoken) waiting.task();
  }
}
