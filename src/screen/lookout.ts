import type { LoggerRow, Store } from '../store/store.js';
import type { Clock } from '../units/clock.js';
import { between, type DurationMs, type MonotonicMs, seconds, type UtcMs } from '../units/time.js';
import { behindRecord } from '../visit/clockBehind.js';
import { isExposed } from '../visit/cup.js';
import type { Season } from '../visit/season.js';
import { alarmRows } from './alarms.js';
import { storeFeed } from './feed.js';
import { type Heard, type Hindered, hear, loggerSign, RESTING } from './loggerSign.js';
import type { Situation } from './situation.js';
import { NO_STATUS, type Status } from './status.js';
import { unreadCups } from './unread.js';
import { clockText, zoneOf } from './view.js';

export interface LookoutOptions {
  readonly store: Store;
  /** The time of the cups: of the wall, or of a scenario. */
  readonly now: () => UtcMs;
  readonly clock: Pick<Clock, 'utc' | 'monotonic'>;
  readonly title: string;
  /** In which the time is shown while no visit is open. */
  readonly zone: string;
  /** Free bytes where the store is, null when unknown. */
  readonly diskFree?: (() => number | null) | undefined;
  /** What keeps the logger of that row from writing although it lives, null when nothing is known to. */
  readonly hindered?: ((row: LoggerRow) => Hindered | null) | undefined;
}

/** Looks at a store for whoever tells people of it, in whatever form. */
export interface Lookout {
  /** Looks again, and gives what there is now. A store that cannot be read leaves what was, and a word on why. */
  look(): Situation;
  /** Whether facts were recorded since the last look. */
  isBehind(): boolean;
  /** What the last look found. */
  readonly situation: Situation;
  readonly season: Season;
}

/** How long what is slow to find out may be shown. */
const SLOW_LOOK = seconds(10);

export function lookoutOn(options: LookoutOptions): Lookout {
  const { store, now, clock, title, zone, diskFree, hindered } = options;
  const feed = storeFeed(store);
  let heard: Heard | null = null;
  let situation: Situation = {
    title,
    at: now(),
    zone,
    clock: '',
    logger: { silent: false, words: '' },
    slots: [],
    unseated: [],
    observationsOf: feed.observationsOf,
    unread: [],
    alarms: [],
    status: NO_STATUS,
    problem: null,
  };

  /** Counting what the mirror has not got and asking for the disk are not done at every look. */
  const slow = slowly(SLOW_LOOK, clock.monotonic, () => ({
    mirror: mirrorOf(store),
    diskFree: diskFree?.() ?? null,
  }));
  const statusNow = (at: UtcMs): Status => ({
    carriers: feed
      .heard(at)
      .map(({ name, at: last }) => ({ name, age: last === null ? null : between(last, at) })),
    clocks: feed.clocks(),
    behindRecord: behindRecord(feed.recorded, at),
    ...slow(),
  });

  const situationNow = (): Situation => {
    feed.poll();
    const row = store.logger();
    heard = hear(heard, row, clock.utc(), clock.monotonic());
    const at = now();
    const [slots, unseated] = [feed.slots(at), feed.unseated(at)];
    const sign = loggerSign(heard, row, clock.monotonic(), () =>
      row === null ? null : (hindered?.(row) ?? null),
    );
    const rides = unseated.length > 0 || slots.some(({ cup }) => cup !== null && isExposed(cup.cup));
    // One that lives and cannot write is told of in any case.
    const logger = sign.silent && sign.cure === undefined && !rides ? RESTING : sign;
    const shownZone = zoneOf(feed.season, zone);
    return {
      title,
      at,
      zone: shownZone,
      clock: clockText(at, shownZone),
      logger,
      slots,
      unseated,
      observationsOf: feed.observationsOf,
      unread: unreadCups(feed.season),
      alarms: alarmRows(slots, unseated, logger),
      status: statusNow(at),
      problem: null,
    };
  };

  return {
    look() {
      try {
        situation = situationNow();
      } catch (error) {
        // A store that is busy or gone does not end the screen; the last picture stays, and says so.
        const { message } = error as Error;
        // The title names the store; what is wrong with it comes before the line ends.
        const problem = message.startsWith(store.path)
          ? `This screen is old: the store${message.slice(store.path.length)}`
          : `This screen is old, the store cannot be read: ${message}`;
        situation = { ...situation, problem };
      }
      return situation;
    },
    isBehind() {
      try {
        return feed.isBehind();
      } catch {
        // The next look says what is wrong with the store.
        return false;
      }
    },
    get situation() {
      return situation;
    },
    get season() {
      return feed.season;
    },
  };
}

function mirrorOf(store: Store): Status['mirror'] {
  const row = store.mirror();
  if (row === null || !row.isOn) return null;
  return { state: row.state, behind: store.readingsBehind(row.sent.readings) };
}

/** The same as `task`, but done anew only after `pause`. */
function slowly<T>(pause: DurationMs, monotonic: () => MonotonicMs, task: () => T): () => T {
  let last: { readonly value: T; readonly at: MonotonicMs } | null = null;
  return () => {
    const at = monotonic();
    if (last === null || at - last.at >= pause) last = { value: task(), at };
    return last.value;
  };
}
