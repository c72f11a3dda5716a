import type { Scenario } from '../emulator/scenario.js';
import type { Store } from '../store/store.js';
import type { Clock } from '../units/clock.js';
import { Refusal } from '../units/refusal.js';
import { between, durationMs, later, MS_PER_MINUTE } from '../units/time.js';
import { record } from '../visit/record.js';
import { foldSeason } from '../visit/season.js';
import { assignments, factsOf } from './crew.js';
import { type PlayedCarrier, playedCarrier } from './playedCarrier.js';
import { keepStore, takeStore } from './presence.js';
import type { Say } from './say.js';
import { ScenarioTime } from './scenarioTime.js';
import { sealer } from './sealer.js';

/** How far ahead the carriers are run in one go: at most a scenario minute, at a set speed a quarter second. */
const STEP_MS_MAX = MS_PER_MINUTE;
const STEP_MS_MIN = 1000;
const REAL_STEP_MS = 250;

/**
 * Plays a scenario into a store: the same path as from real boards, fed by the firmware image on emulated
 * carriers, with the crew's doings recorded as they happen. Ends at the scenario's end or when `signal` is
 * aborted. A scenario that is handed over is run to there at once, and then at its speed.
 *
 * @param speed how many times faster than real; Infinity runs as fast as it can
 * @throws {Refusal} when the store has a visit of the scenario already
 */
export async function playScenario(options: {
  readonly scenario: Scenario;
  readonly store: Store;
  readonly speed: number;
  readonly clock: Clock;
  readonly pid: number;
  readonly say: Say;
  readonly signal: AbortSignal;
}): Promise<void> {
  const { scenario, store, speed, clock, pid, say, signal } = options;
  refusePlayed(scenario, store);
  takeStore(store, pid, clock.utc());
  const time = new ScenarioTime(scenario.start);
  const carriers = scenario.carriers.map((carrier, index) =>
    playedCarrier(scenario, carrier, index, store, say),
  );
  const step = Number.isFinite(speed)
    ? Math.min(Math.max(speed * REAL_STEP_MS, STEP_MS_MIN), STEP_MS_MAX)
    : STEP_MS_MAX;
  const length = between(scenario.start, scenario.end);
  /** What comes before a handover is run as fast as it can. */
  const unwaited = between(scenario.start, scenario.handover ?? scenario.start);
  let begun = clock.monotonic();
  const shown = Number.isFinite(speed) ? speed : 0;
  const beat = (state: string) =>
    keepStore(store, {
      pid,
      beat: clock.utc(),
      now: time.utc(),
      speed: state === 'logging' && time.utc() >= (scenario.handover ?? scenario.start) ? shown : 0,
      state,
    });
  const sealing = sealer(store, say);
  let acted = 0;

  try {
    record(store, time.utc(), () => assignments(scenario));
    beat('logging');
    for (let done = 0; done < length && !signal.aborted; ) {
      const isWaited = done >= unwaited;
      const until = isWaited ? Math.min(done + step, length) : Math.min(done + STEP_MS_MAX, unwaited);
      await runAll(carriers, until);
      const now = later(scenario.start, durationMs(until));
      time.set(now);
      for (; acted < scenario.crew.length && scenario.crew[acted]!.at <= now; acted += 1) {
        const action = scenario.crew[acted]!;
        record(store, action.at, (season) => factsOf(action, season, store));
      }
      sealing.look(now);
      beat('logging');
      done = until;
      if (!isWaited) begun = clock.monotonic();
      const ahead = (done - unwaited) / speed - (clock.monotonic() - begun);
      if (ahead > 0) await clock.sleep(durationMs(ahead), signal);
    }
    beat(signal.aborted ? 'stopped' : 'ended');
  } finally {
    await Promise.all(carriers.map((carrier) => carrier.stop()));
  }
}

/** A crew does everything once: half a morning on, it would meet what it did the first time. */
function refusePlayed(scenario: Scenario, store: Store): void {
  const { visits } = foldSeason(store.facts());
  const played = scenario.crew.find((action) => action.does === 'open-visit' && visits.has(action.visit));
  if (played?.does !== 'open-visit') return;
  throw new Refusal(
    `${store.path} has the visit ${played.visit} of ${scenario.name} already, for it was played there before; name a new file with --store.`,
  );
}

/**
 * Runs all carriers to `untilMs`, side by side. Each is attended to when it is the one least far, so that what is
 * recorded does not depend on how fast their threads are.
 */
async function runAll(carriers: readonly PlayedCarrier[], untilMs: number): Promise<void> {
  for (const carrier of carriers) carrier.begin(untilMs);
  for (let running = [...carriers]; running.length > 0; ) {
    const least = running.reduce((a, b) => (b.target() < a.target() ? b : a));
    await least.attend();
    if (least.target() < untilMs) least.begin(untilMs);
    else running = running.filter((carrier) => carrier !== least);
  }
}
