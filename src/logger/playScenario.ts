import { emulatedCarrier } from '../carrier/emulated/emulatedCarrier.js';
import type { CarrierEvent } from '../carrier/events.js';
import { readLines } from '../carrier/readLines.js';
import type { Scenario, ScenarioCarrier } from '../emulator/scenario.js';
import type { Store } from '../store/store.js';
import type { Clock } from '../units/clock.js';
import { between, durationMs, later, MS_PER_MINUTE, monotonicMs, type UtcMs, utcMs } from '../units/time.js';
import { record } from '../visit/record.js';
import { assignments, factsOf } from './crew.js';
import { takeStore } from './presence.js';
import { type Recorder, recorder } from './recorder.js';

/** How far ahead the carriers are run in one go: at most a scenario minute, at a set speed a quarter second. */
const STEP_MS_MAX = MS_PER_MINUTE;
const STEP_MS_MIN = 1000;
const REAL_STEP_MS = 250;

/**
 * Plays a scenario into a store: the same path as from real boards, fed by the firmware image on emulated
 * carriers, with the crew's doings recorded as they happen. Ends at the scenario's end or when `signal` is
 * aborted.
 *
 * @param speed how many times faster than real; Infinity runs as fast as it can
 */
export async function playScenario(options: {
  readonly scenario: Scenario;
  readonly store: Store;
  readonly speed: number;
  readonly clock: Clock;
  readonly pid: number;
  readonly say: (sentence: string) => void;
  readonly signal: AbortSignal;
}): Promise<void> {
  const { scenario, store, speed, clock, pid, say, signal } = options;
  takeStore(store, pid, clock.utc());
  const time = new ScenarioTime(scenario.start);
  const carriers = scenario.carriers.map((carrier, index) =>
    playedCarrier(scenario, carrier, index, store, time, say),
  );
  const step = Number.isFinite(speed)
    ? Math.min(Math.max(speed * REAL_STEP_MS, STEP_MS_MIN), STEP_MS_MAX)
    : STEP_MS_MAX;
  const length = between(scenario.start, scenario.end);
  const begun = clock.monotonic();
  const shown = Number.isFinite(speed) ? speed : 0;
  const beat = (state: string) =>
    store.setLogger({
      pid,
      beat: clock.utc(),
      now: time.utc(),
      speed: state === 'logging' ? shown : 0,
      state,
    });
  let acted = 0;

  try {
    record(store, time.utc(), () => assignments(scenario));
    beat('logging');
    for (let done = 0; done < length && !signal.aborted; ) {
      const until = Math.min(done + step, length);
      const sent = await Promise.all(carriers.map((carrier) => carrier.run(until)));
      for (const write of sent) await write();
      const now = later(scenario.start, durationMs(until));
      time.set(now);
      for (; acted < scenario.crew.length && scenario.crew[acted]!.at <= now; acted += 1) {
        const action = scenario.crew[acted]!;
        record(store, action.at, (season) => factsOf(action, season, store));
      }
      beat('logging');
      done = until;
      const ahead = done / speed - (clock.monotonic() - begun);
      if (ahead > 0) await clock.sleep(durationMs(ahead), signal);
    }
    beat(signal.aborted ? 'stopped' : 'ended');
  } finally {
    await Promise.all(carriers.map((carrier) => carrier.stop()));
  }
}

/** The host's clocks as they are when a chunk arrives. Nobody waits for them. */
class ScenarioTime implements Clock {
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
  sinceBoot() {
    return this.monotonic();
  }
  sleep(): Promise<void> {
    return Promise.reject(new Error('nobody waits for scenario time'));
  }
  every(): () => void {
    throw new Error('nobody waits for scenario time');
  }
}

function playedCarrier(
  scenario: Scenario,
  { carrier }: ScenarioCarrier,
  index: number,
  store: Store,
  time: ScenarioTime,
  say: (sentence: string) => void,
) {
  const board = emulatedCarrier(scenario.name, index);
  const anchor = { utc: scenario.start, monotonic: monotonicMs(0) };
  const writer: Recorder = recorder(store, anchor, carrier, (sentence) =>
    say(`carrier ${carrier}: ${sentence}`),
  );
  let events: CarrierEvent[] = [];
  const { input } = readLines(time, (event) => events.push(event));
  return {
    /** Runs the board; the function it gives writes what was sent, at the times it was sent. */
    run: async (untilMs: number) => {
      const chunks = await board.run(untilMs);
      return async () => {
        for (const { atMs, bytes } of chunks) {
          time.set(later(scenario.start, durationMs(Math.floor(atMs))));
          await new Promise<void>((resolve) => input.write(bytes, () => resolve()));
        }
        writer.record(events, utcMs(time.utc()));
        events = [];
      };
    },
    stop: () => board.stop(),
  };
}
