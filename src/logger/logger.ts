import type { CarrierEvent } from '../carrier/events.js';
import type { CarrierSource } from '../carrier/source.js';
import { Unwritable } from '../store/sqlite.js';
import type { Store } from '../store/store.js';
import type { Clock } from '../units/clock.js';
import type { CarrierId } from '../units/ids.js';
import { type DurationMs, durationMs, later, seconds } from '../units/time.js';
import type { Attendant } from './attend.js';
import { boardLog, notWhole } from './boardLog.js';
import { flow } from './flow.js';
import { type Post, post } from './post.js';
import { BEAT, keepStore, takeStore } from './presence.js';
import { recorder } from './recorder.js';
import type { Recording } from './recordTo.js';
import type { Level, Say } from './say.js';
import { sealer } from './sealer.js';
import { lasted, type Outage, storing } from './storing.js';

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
  readonly say: Say;
  readonly signal: AbortSignal;
  /** Told when a board has been spoken to; `sync` stops when its board is caught up. */
  readonly onProgress?: (attendant: Attendant, source: CarrierSource) => void;
  /** Where everything that is written to the store is written down as well. */
  readonly recording?: Recording | null;
  /** Also read the pages of the log that still grow. */
  readonly withOpenPage?: boolean;
  /** What a full disk, a read-only one or a busy store comes to: the end with a refusal, or waiting until it has passed. */
  readonly whenUnwritable: 'end' | 'wait';
  /** Told every two seconds that it is at work: what there is is stored, or it is known why nothing can be. */
  readonly onAlive?: (outage: Outage | null) => void;
}): Promise<void> {
  const { store, sources, clock, pid, say } = options;
  takeStore(store, pid, clock.utc());
  const anchor = { utc: clock.utc(), monotonic: clock.steady() };
  /** Its own time, by which readings are labelled: whatever the wall clock is set to meanwhile changes nothing. */
  const now = () => later(anchor.utc, durationMs(Math.round(clock.steady() - anchor.monotonic)));
  // A source that fails ends them all, and so does a store that fails for good.
  const stop = new AbortController();
  const signal = AbortSignal.any([options.signal, stop.signal]);
  let failure: unknown = null;
  const fail = (error: unknown) => {
    failure ??= error;
    stop.abort();
  };
  const posts: Post[] = [];
  const kept = storing({
    clock,
    now,
    retry(outage) {
      takeStore(store, pid, clock.utc());
      const facts = posts.flatMap((each) => each.factsOf(outage, now()));
      store.transaction(() => store.append(now(), ...facts));
    },
    onBegin({ words }) {
      say(
        `NOTHING CAN BE STORED; logging goes on and tries again, boards keep their scans in their memory, what other sources measure until then is a gap: ${words}`,
        undefined,
        'error',
      );
    },
    onEnd(outage) {
      say(`stored again, after ${Math.round(lasted(outage, now()) / 1000)} s in which nothing was`);
      for (const each of posts) each.rejoin();
    },
    waits: options.whenUnwritable === 'wait',
    fail,
  });
  // What a logger left that was killed, and boards that may never come back.
  kept.attempt(() => {
    const pages = store.unreadPages();
    for (const [board, taken] of boardLog(store).takeInKept(now()))
      say(notWhole(board, pages.get(board) ?? 0, taken), undefined, 'warn');
  });
  const sealing = sealer(store, say);
  const beat = () => {
    kept.look(() => {
      keepStore(store, { pid, beat: clock.utc(), now: now(), speed: 1, state: 'logging' });
      // No board is kept waiting for an acknowledgement.
      if (!posts.some(({ attendant }) => attendant.talk.isBusy(clock.monotonic()))) sealing.look(now());
    });
    if (failure === null) options.onAlive?.(kept.outage);
  };
  const stopBeating = clock.every(BEAT, beat);
  const flowing = flow({
    sources: sources.map(({ source }) => source.name),
    clock,
    say,
    unstored: () => kept.outage?.words ?? null,
  });
  const runs = sources.map(async ({ source, carrier }) => {
    const sayOf = (sentence: string, level?: Level) => say(sentence, source.name, level);
    const plain = recorder(store, anchor, carrier, sayOf, options.who ?? null);
    const recorded = options.recording?.of(plain, { name: source.name, carrier, anchor });
    const mine = post({
      store,
      source,
      writer: recorded ?? plain,
      clock: { utc: now, monotonic: () => clock.monotonic() },
      storing: kept,
      withOpenPage: options.withOpenPage ?? false,
      say: sayOf,
      onMissed: (events) => recorded?.note(events, now()),
      onProgress: (attendant) => options.onProgress?.(attendant, source),
    });
    posts.push(mine);
    const stopSpeaking = clock.every(SPEAK, () => mine.speak());
    const onEvent = (event: CarrierEvent) => {
      flowing.heard(source.name, event);
      mine.hear(event);
    };
    await source.run(onEvent, signal).catch(fail);
    stopSpeaking();
    mine.flush();
  });
  try {
    await Promise.all(runs);
  } finally {
    stopBeating();
    flowing.stop();
    withdraw(store, pid);
  }
  if (failure !== null) throw failure;
}

/** Takes the sign of life away; where that cannot be written it grows old by itself. */
function withdraw(store: Store, pid: number): void {
  try {
    store.clearLogger(pid);
  } catch (error) {
    if (!(error instanceof Unwritable)) throw error;
  }
}
