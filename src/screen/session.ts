import type { Alarm } from '../exposure/live.js';
import type { Store } from '../store/store.js';
import type { Clock } from '../units/clock.js';
import type { UtcMs } from '../units/time.js';
import { alarmId, bell, type Sounded } from './bell.js';
import { CONTROLS, type Key, pressed } from './controls.js';
import { storeFeed } from './feed.js';
import { liveFrame, pageCount, resultRows, resultsFrame, type Situation, type Size } from './frame.js';
import type { Line } from './line.js';
import { type Heard, hear, loggerSign } from './loggerSign.js';
import { alarmRows, clockText, zoneOf } from './view.js';

export interface SessionOptions {
  readonly store: Store;
  /** The time of the cups: of the wall, or of a scenario. */
  readonly now: () => UtcMs;
  readonly clock: Pick<Clock, 'utc' | 'monotonic'>;
  readonly title: string;
  /** In which the time is shown while no visit is open. */
  readonly zone: string;
  /** What is shown at the end, asked for once; each text is one or more lines. */
  readonly results: () => readonly string[];
}

/** What one screen shows, and what it has been told with keys; knows no terminal. */
export interface Session {
  /** Looks at the store again. Gives the sound that what is new calls for, null when none. */
  look(): Alarm['level'] | null;
  /** Turns from the live picture to the results. */
  showResults(): void;
  readonly showsResults: boolean;
  press(key: Key, size: Size): void;
  lines(size: Size): Line[];
}

export function screenSession({ store, now, clock, title, zone, results }: SessionOptions): Session {
  const feed = storeFeed(store);
  let controls = CONTROLS;
  let heard: Heard | null = null;
  let sounded: Sounded = new Set();
  let situation: Situation = {
    title,
    clock: '',
    logger: { silent: false, words: '' },
    slots: [],
    unseated: [],
    alarms: [],
    problem: null,
  };
  let resultLines: readonly string[] | null = null;

  const situationNow = (): Situation => {
    feed.poll();
    const row = store.logger();
    heard = hear(heard, row, clock.utc(), clock.monotonic());
    const logger = loggerSign(heard, row, clock.monotonic());
    const at = now();
    const [slots, unseated] = [feed.slots(at), feed.unseated(at)];
    const alarms = alarmRows(slots, unseated, logger);
    return {
      title,
      clock: clockText(at, zoneOf(feed.season, zone)),
      logger,
      slots,
      unseated,
      alarms,
      problem: null,
    };
  };

  return {
    look() {
      try {
        situation = situationNow();
      } catch (error) {
        // A store that is busy or gone does not end the screen; the last picture stays, and says so.
        const problem = `This picture is old, the store cannot be read: ${(error as Error).message}`;
        situation = { ...situation, problem };
      }
      const { sound, sounded: next } = bell(sounded, situation.alarms, controls.muted);
      sounded = next;
      return sound;
    },
    showResults() {
      resultLines ??= results().flatMap((text) => text.split('\n'));
    },
    get showsResults() {
      return resultLines !== null;
    },
    press(key, size) {
      controls = pressed(controls, key, {
        pages: pageCount(situation, controls, size),
        lines: resultLines?.length ?? 0,
        shown: resultRows(size),
        alarms: situation.alarms.map(alarmId),
      });
    },
    lines: (size) =>
      resultLines === null
        ? liveFrame(situation, controls, size)
        : resultsFrame(title, resultLines, controls, size),
  };
}
