import { emulatedCarrier } from '../carrier/emulated/emulatedCarrier.js';
import type { Chunk } from '../carrier/emulated/scenarioBoard.js';
import type { CarrierEvent } from '../carrier/events.js';
import { readLines } from '../carrier/readLines.js';
import type { Scenario, ScenarioCarrier } from '../emulator/scenario.js';
import type { Store } from '../store/store.js';
import { durationMs, later, monotonicMs } from '../units/time.js';
import { attend } from './attend.js';
import { recorder } from './recorder.js';
import { ScenarioTime } from './scenarioTime.js';

/** A host speaks to its boards at least this often, and this soon while an answer is on its way. */
const SPEAK_MS = 20_000;
const BRISK_MS = 100;

/** An emulated carrier and the host that talks with it, as with a real one. */
export interface PlayedCarrier {
  /** How far it has run, or is running, milliseconds after the scenario's start. */
  target(): number;
  /** Sets it running: not far while something is under way between host and board. */
  begin(untilMs: number): void;
  /** Waits until it has run, and records and answers what was sent, at the times it was sent. */
  attend(): Promise<void>;
  stop(): Promise<void>;
}

export function playedCarrier(
  scenario: Scenario,
  { carrier }: ScenarioCarrier,
  index: number,
  store: Store,
  say: (sentence: string) => void,
): PlayedCarrier {
  // A bench is only worth having with a board that is the same each time; a morning may be its first.
  const boots = Math.max(
    scenario.crew.length === 0 ? 1 : 0,
    ...store.facts().map(({ fact }) => (fact.type === 'board-booted' ? fact.boot : 0)),
  );
  const board = emulatedCarrier({
    scenario: scenario.name,
    carrierIndex: index,
    start: scenario.start,
    boots,
  });
  const time = new ScenarioTime(scenario.start);
  const at = (ms: number) => time.set(later(scenario.start, durationMs(Math.floor(ms))));
  let said = '';
  let events: CarrierEvent[] = [];
  const { input } = readLines(time, (event) => events.push(event));
  const writer = recorder(store, { utc: scenario.start, monotonic: monotonicMs(0) }, carrier, (sentence) =>
    say(`carrier ${carrier}: ${sentence}`),
  );
  const attendant = attend({
    store,
    writer,
    clock: time,
    write: (line) => {
      said += line;
    },
    withOpenPage: false,
  });
  const arrival = { utc: time.utc(), monotonic: time.monotonic() };
  attendant.talk.hear(
    { kind: 'link', arrival, state: 'open', detail: 'open' },
    arrival.monotonic,
    arrival.utc,
  );
  let target = 0;
  let run: Promise<readonly Chunk[]> | null = null;
  return {
    target: () => target,
    begin: (untilMs: number) => {
      const isBusy = said !== '' || attendant.talk.isBusy(time.monotonic());
      target = Math.min(untilMs, target + (isBusy ? BRISK_MS : SPEAK_MS));
      run = board.run(target, said);
      said = '';
    },
    attend: async () => {
      for (const { atMs, bytes } of (await run) ?? []) {
        at(atMs);
        await new Promise<void>((resolve) => input.write(bytes, () => resolve()));
      }
      at(target);
      attendant.hear(events);
      writer.record([], time.utc());
      events = [];
    },
    stop: () => board.stop(),
  };
}
