import type { MirrorState } from '../store/outbox.js';
import type { Store } from '../store/store.js';
import type { Clock } from '../units/clock.js';
import { Refusal } from '../units/refusal.js';
import { type DurationMs, durationMs, seconds } from '../units/time.js';
import type { Answer } from './answer.js';
import { type Batch, batches } from './batches.js';
import type { Connection } from './connection.js';
import { BATCH_MAX, begin, goBack, type Left, type Session, take } from './session.js';
import type { Target } from './target.js';

/** How often it is looked for something new to send, and for what a person set. */
export const LOOK: DurationMs = seconds(1);
/**
 * In a backlog, how often it is recorded how far everything is: many batches in one transaction. What was acknowledged
 * since is sent again after a crash, which changes nothing.
 */
const RECORD_EVERY: DurationMs = seconds(1);
/** After a failure it is tried again after this time, twice as long each time, up to the limit. */
const BACK_OFF: DurationMs = seconds(1);
export const BACK_OFF_MAX: DurationMs = seconds(60);
/** So many rows refused one after the other, and none taken: it is not the rows. */
export const SUSPECTS_MAX = 10;

/** How often a connection that is gone while nothing was sent has everything sent again that is not released. */
const LOSSES_MAX = 3;

/** How the pump stands after a round. */
export interface Progress {
  readonly state: 'off' | MirrorState;
  /** Everything there was is acknowledged; and released, too. */
  readonly isAcknowledged: boolean;
  readonly isDone: boolean;
  readonly words: string | null;
  /** How many tries in a row have failed. */
  readonly failures: number;
}

/** Says a sentence; of no source. */
type SayMirror = (sentence: string, source?: undefined, level?: 'warn' | 'error') => void;

export interface PumpOptions {
  readonly store: Store;
  readonly clock: Pick<Clock, 'utc' | 'monotonic' | 'sleep'>;
  /** Makes a connection, with the credentials as they are then. @throws {Refusal} when they cannot be had */
  readonly connect: (target: Target) => Promise<Connection>;
  readonly say: SayMirror;
  readonly signal: AbortSignal;
  readonly onProgress?: (progress: Progress) => void;
}

/**
 * Sends readings and rulings to the mirror's server, as long as the mirror is on, until `signal` is aborted. It
 * follows the store by itself; who writes there need not know. Whatever the server does, nothing is skipped: what was
 * not acknowledged, or acknowledged by a server that may have lost it since, is sent again.
 */
export async function runPump(options: PumpOptions): Promise<void> {
  const { clock, say, signal, onProgress } = options;
  const pump = new Pump(options);
  let saidOfStore = '';
  const stop = () => pump.end();
  signal.addEventListener('abort', stop, { once: true });
  while (!signal.aborted) {
    let wait: DurationMs;
    try {
      wait = await pump.round();
      saidOfStore = '';
    } catch (error) {
      // The store cannot be read or written. The logger deals with that; here it is only tried again.
      const words = error instanceof Refusal ? error.message : `${(error as Error).name} in the mirror`;
      if (words !== saidOfStore) say(words, undefined, 'warn');
      saidOfStore = words;
      pump.end();
      wait = BACK_OFF_MAX;
    }
    onProgress?.(pump.progress());
    if (wait > NOW) await clock.sleep(wait, signal);
  }
  signal.removeEventListener('abort', stop);
  pump.end();
}

class Pump {
  readonly #options: PumpOptions;
  readonly #batches;
  #session: Session | null = null;
  #isAcknowledged = false;

  constructor(options: PumpOptions) {
    this.#options = options;
    this.#batches = batches(options.store);
  }

  progress(): Progress {
    const { state = 'off', words = null, failures = 0 } = this.#session ?? {};
    return {
      state,
      words,
      failures,
      isAcknowledged: this.#isAcknowledged,
      isDone: this.#isAcknowledged && this.#session?.held.length === 0,
    };
  }

  end(): void {
    this.#session?.connection?.close();
    this.#session = null;
  }

  /** Does the next thing there is to do, and says how long to wait afterwards. */
  async round(): Promise<DurationMs> {
    const row = this.#options.store.mirror();
    this.#isAcknowledged = false;
    if (row === null || !row.isOn) {
      this.end();
      return LOOK;
    }
    if (this.#session?.revision !== row.revision) {
      this.end();
      this.#session = begin(row);
    }
    const session = this.#session!;
    if (session.state === 'stopped') return LOOK;
    if (session.connection?.isLost()) this.#lost(session);
    const batch = this.#next(session);
    if (batch === null) {
      this.#record(session);
      this.#isAcknowledged = session.suspects.length === 0;
      return LOOK;
    }
    if (batch.points.length === 0) {
      take(session, batch, [], this.#options.clock);
      this.#record(session);
      await this.#turn();
      return NOW;
    }
    const [answer] = await Promise.all([this.#write(session, batch), this.#meanwhile(session, batch)]);
    // A person may have changed the mirror, or the logger may be stopping.
    if (this.#session !== session) return NOW;
    return this.#act(session, batch, answer);
  }

  #next(session: Session): Batch | null {
    const { ahead, sent, limit } = session;
    session.ahead = null;
    return ahead?.from === sent ? ahead.batch : this.#batches.next(sent, limit);
  }

  /**
   * While a batch is on its way: puts on record what was acknowledged before it, and reads what comes after it, so that
   * neither keeps the server waiting. Nothing here takes the batch itself for acknowledged.
   */
  async #meanwhile(session: Session, { to }: Batch): Promise<void> {
    // Lets the request go out.
    await this.#turn();
    const { recorded } = session;
    if (recorded === null || this.#options.clock.monotonic() - recorded >= RECORD_EVERY)
      this.#record(session);
    const batch = this.#batches.next(to, session.limit);
    if (batch !== null) session.ahead = { from: to, batch };
  }

  /** Even a long backlog leaves others their turn. */
  #turn(): Promise<void> {
    return this.#options.clock.sleep(NOW);
  }

  /**
   * The server may have restarted, and lost what it only held in memory. Or it drops every idle connection: then this
   * must come to an end.
   */
  #lost(session: Session): void {
    if (session.losses < LOSSES_MAX) {
      goBack(session);
      session.losses += 1;
    } else {
      session.connection?.close();
      session.connection = null;
    }
  }

  async #write(session: Session, { points }: Batch): Promise<Answer> {
    try {
      session.connection ??= await this.#options.connect(session.target);
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      // Others put it into their sentences.
      return { is: 'stop', words: error.message.replace(/\.$/, '') };
    }
    return session.connection.write(points);
  }

  #act(session: Session, batch: Batch, answer: Answer): DurationMs {
    if (answer.is !== 'taken') {
      this.#record(session);
      session.connection?.close();
      session.connection = null;
    }
    if (answer.is === 'taken') {
      this.#take(session, batch, []);
      session.limit = Math.min(session.limit * 2, BATCH_MAX);
      return NOW;
    }
    if (answer.is === 'again') {
      goBack(session);
      session.failures += 1;
      this.#tell(session, 'waiting', answer.words);
      return durationMs(Math.min(BACK_OFF * 2 ** (session.failures - 1), BACK_OFF_MAX));
    }
    if (answer.is === 'stop') return this.#halt(session, answer.words);
    return this.#refused(session, batch, answer.words, answer.left);
  }

  /** Finds the rows that are not taken by halving the batch, and sets them aside once others are taken. */
  #refused(session: Session, batch: Batch, why: string, left: number | null): DurationMs {
    const { what, points, first, last } = batch;
    if (left !== null) {
      // Old rows past the server's retention may fill a batch; anything else that hits every row is no row's fault.
      if (left >= points.length && points.length > 1 && !/retention/.test(why))
        return this.#halt(session, why);
      this.#take(session, batch, [{ what, count: left, first, last, why }]);
      return NOW;
    }
    if (points.length > 1) {
      session.limit = Math.ceil(points.length / 2);
      return NOW;
    }
    session.suspects.push({ what, count: 1, first: last, last, why });
    session.sent = batch.to;
    return session.suspects.length < SUSPECTS_MAX ? NOW : this.#halt(session, why);
  }

  /** The server has a batch, but for what it refused of it. */
  #take(session: Session, batch: Batch, refused: readonly Left[]): void {
    take(session, batch, refused, this.#options.clock);
    this.#tell(session, 'sending', null);
  }

  /** Lets go of what has been held long enough, and records how far everything is. */
  #record(session: Session): void {
    const { store, clock } = this.#options;
    const monotonic = clock.monotonic();
    session.recorded = monotonic;
    const due = session.held.filter(({ at }) => monotonic - at >= seconds(session.target.holdSeconds));
    if (due.length === 0 && !session.hasNews) return;
    const now = clock.utc();
    const refused = due.flatMap((each) => each.refused);
    const released = due.at(-1)?.to ?? session.released;
    // Rows passed over count as sent only when their fate is known.
    const sent = session.suspects.length > 0 ? (session.held.at(-1)?.to ?? session.released) : session.sent;
    // How far it is may be taken back by a loss of power: then a little is sent again. A fact may not.
    const write = refused.length > 0 ? store.transaction : store.unsynced;
    write(() => {
      const count = refused.reduce((sum, left) => sum + left.count, 0);
      if (!store.moveMirror(session.revision, sent, released, count, session.success)) return;
      store.append(now, ...refused.map((left) => ({ type: 'mirror-refused' as const, ...left, at: now })));
    });
    if (due.length > 0) session.losses = 0;
    session.held = session.held.slice(due.length);
    session.released = released;
    session.hasNews = false;
  }

  #halt(session: Session, words: string): DurationMs {
    goBack(session);
    this.#tell(session, 'stopped', words);
    return LOOK;
  }

  /** Records a change of state, and says it. */
  #tell(session: Session, state: MirrorState, words: string | null): void {
    const isNews = state !== session.state || words !== session.words;
    const before = session.state;
    session.state = state;
    session.words = words;
    if (!isNews) return;
    const { store, clock, say } = this.#options;
    store.unsynced(() => store.tellMirror(session.revision, state, words, clock.utc()));
    if (state === 'sending' && before !== 'new') say('mirror: sending again');
    if (state === 'waiting')
      say(`mirror: ${words}; what it has not got waits here, and is tried again`, undefined, 'warn');
    if (state === 'stopped')
      say(
        `mirror: ${words}; nothing more is sent until you run mirror setup again or restart the logger`,
        undefined,
        'error',
      );
  }
}

/** Goes on at once. */
const NOW = durationMs(0);
