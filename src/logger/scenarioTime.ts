import type { Clock } from '../units/clock.js';
import { monotonicMs, type UtcMs } from '../units/time.js';

/** The host's clocks in a scenario, as they are when a chunk arrives. Nobody waits for them. */
export class ScenarioTime implements Clock {
  #now: UtcMs;
  readonly #start: UtcMs;
  constructor(start: UtcMs) {
    this.#start = start;
    this.#now = start;
  }
  set(now: UtcMs): void {
    this.#now = now;
  }
  utc(): UtcMs {
    return this.#now;
  }
  monotonic() {
    return monotonicMs(this.#now - this.#start);
  }
  steady() {
    return this.monotonic();
  }
  sleep(): Promise<void> {
    return Promise.reject(new Error('nobody waits for scenario time'));
  }
  every(): () => void {
    throw new Error('nobody waits for scenario time');
  }
}
