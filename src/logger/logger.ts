import type { CarrierEvent } from '../carrier/events.js';
import { hostRuler } from '../carrier/host/hostRuler.js';
import type { CarrierSource } from '../carrier/source.js';
import type { Store } from '../store/store.js';
import type { Clock } from '../units/clock.js';
import type { CarrierId } from '../units/ids.js';
import { type DurationMs, durationMs, later, seconds } from '../units/time.js';
import { type Attendant, attend } from './attend.js';
import { flow } from './flow.js';
import { BEAT, keepStore, takeStore } from './presence.js';
import { recorder } from './recorder.js';
import type { Recording } from './recordTo.js';
import { sealer } from './sealer.js';
import { wholeScans } from './wholeScans.js';

/** How often a board is looked after when it says nothing; also how exactly it is told the second. */
const SPEAK: DurationMs = seconds(0.1);

export interface LoggedSource {
  readonly source: CarrierSource;
  /** The carrier at the other end, null when it was not told. */
  readonly carrier: CarrierId | null;
}

/**
 * The logger at work: writes what the sources say into the store until `signal` is aborted. One a store.
 *
 * @throws {Refusal} when the store has a logger already, or a source cannot be opened
 */
export async function runLogger(options: {
  readonly store: Store;
  readonly sources: readonly LoggedSource[];
  readonly clock: Clock;
  readonly pid: number;
  /** Who started it, by whose word a board is built into a carrier. */
  readonly who?: string | undefined;
  /** Told what people should know; of which source, when it is of one. */
  readonly say: (sentence: string, source?: string) => void;
  readonly signal: AbortSignal;
  /** Told when a board has been spoken to; `sync` stops when its board is caught up. */
  readonly onProgress?: (attendant: Attendant, source: CarrierSource) => void;
  /** Where everything that is written to the store is written down as well. */
  readonly recording?: Recording | null;
  /** Also read the pages of the log that still grow. */
  readonly withOpenPage?: boolean;
}): Promise<void> {
  const { store, sources, clock, pid, say } = options;
  takeStore(store, pid, clock.utc());
  const anchor = { utc: clock.utc(), monotonic: clock.monotonic() };
  const elapsed = hostRuler(clock);
  /** Its own time, by which readings are labelled: whatever the wall clock is set to meanwhile changes nothing. */
  const now = () => later(anchor.utc, durationMs(elapsed()));
  // A source that fails, or a store that cannot be written, ends them all.
  const stop = new AbortController();
  const signal = AbortSignal.any([options.signal, stop.signal]);
  let failure: unknown = null;
  const fail = (error: unknown) => {
    failure ??= error;
    stop.abort();
  };
  const attendants: Attendant[] = [];
  const sealing = sealer(store, say);
  const beat = () => {
    try {
      keepStore(store, { pid, beat: clock.utc(), now: now(), speed: 1, state: 'logging' });
      // No board is kept waiting for an acknowledgement.
      if (!attendants.some(({ talk }) => talk.isBusy(clock.monotonic()))) sealing.look(now());
    } catch (error) {
      fail(error);
    }
  };
  const stopBeating = clock.every(BEAT, beat);
  const flowing = flow({ sources: sources.map(({ source }) => source.name), clock, say });
  const runs = sources.map(async ({ source, carrier }) => {
    const plain = recorder(
      store,
      anchor,
      carrier,
      (sentence) => say(sentence, source.name),
      options.who ?? null,
    );
    const writer = options.recording?.of(plain, { name: source.name, carrier, anchor }) ?? plain;
    const attendant = attend({
      store,
      writer,
      clock: { utc: now, monotonic: () => clock.monotonic() },
      write: (line) => source.write(line),
      withOpenPage: options.withOpenPage ?? false,
    });
    attendants.push(attendant);
    const failing = (task: () => void) => {
      if (failure !== null) return;
      try {
        task();
        options.onProgress?.(attendant, source);
      } catch (error) {
        fail(error);
      }
    };
    const scans = wholeScans((events) => failing(() => attendant.hear(events)));
    const stopSpeaking = clock.every(SPEAK, () => {
      scans.tick();
      failing(() => attendant.speak());
    });
    const onEvent = (event: CarrierEvent) => {
      flowing.heard(source.name, event);
      scans.take(event);
    };
    await source.run(onEvent, signal).catch(fail);
    stopSpeaking();
    scans.flush();
  });
  try {
    await Promise.all(runs);
  } finally {
    stopBeating();
    flowing.stop();
    store.clearLogger(pid);
  }
  if (failure !== null) throw failure;
}
