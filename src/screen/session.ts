import type { Alarm } from '../exposure/live.js';
import type { Fact } from '../store/facts.js';
import type { Store } from '../store/store.js';
import type { Clock } from '../units/clock.js';
import type { CupLabel } from '../units/ids.js';
import { Refusal } from '../units/refusal.js';
import { between, type DurationMs, type MonotonicMs, minutes, seconds, type UtcMs } from '../units/time.js';
import type { Season } from '../visit/season.js';
import { instantAt } from '../visit/when.js';
import { alarmRows } from './alarms.js';
import { bell, type Sounded, stillAcknowledged } from './bell.js';
import { CONTROLS, type Key, pressed, type Theme } from './controls.js';
import { cupPage } from './cupPage.js';
import { type CupStory, cupStories } from './cupStories.js';
import { afterRecord, afterRefusal, CLEAR_DESK, type Press, press } from './entry/desk.js';
import { type Filling, type Known, timesIn } from './entry/form.js';
import { HELP } from './entry/help.js';
import { resultPage } from './entry/pages.js';
import { panelLines } from './entry/panel.js';
import { storeFeed } from './feed.js';
import {
  CAUTION,
  liveFrame,
  pageCount,
  resultRows,
  resultsFrame,
  type Situation,
  type Size,
} from './frame.js';
import { fitted, type Line, span, type Tone } from './line.js';
import { type Heard, hear, loggerSign } from './loggerSign.js';
import { pageFrame, pageRows } from './pageFrame.js';
import { NO_STATUS, type Status } from './status.js';
import { unreadCups } from './unread.js';
import { clockText, zoneOf } from './view.js';

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
  /** What people enter with keys. */
  readonly entry: EntryOptions;
  /** Free bytes where the store is, null when unknown. */
  readonly diskFree?: () => number | null;
}

/** How long what is slow to find out may be shown. */
const SLOW_LOOK = seconds(10);

export interface EntryOptions {
  /** Of this computer, for visits that are opened here. */
  readonly zone: string;
  /** Whose name stands beside what is entered. */
  readonly who: string | null;
  /** Records facts in one transaction: all of them, or, with a Refusal, none. */
  readonly record: (make: (store: Store, season: Season) => readonly Fact[]) => RecordedNow;
  /** What came out of a visit whose counts are complete, for people. */
  readonly resultOf: (visit: string) => string;
}

export interface RecordedNow {
  /** Numbers of the facts. */
  readonly seqs: readonly number[];
}

/** What one screen shows, and what it has been told with keys; knows no terminal. */
export interface Session {
  /** Looks at the store again. Gives the sound that what is new calls for, null when none. */
  look(): Alarm['level'] | null;
  /** Turns from the live picture to the results. */
  showResults(): void;
  readonly showsResults: boolean;
  readonly theme: Theme;
  /** Takes a key; gives whether it closes the screen. */
  press(key: Press, size: Size): boolean;
  lines(size: Size): Line[];
}

export function screenSession({
  store,
  now,
  clock,
  title,
  zone,
  results,
  entry,
  diskFree,
}: SessionOptions): Session {
  const feed = storeFeed(store);
  let controls = CONTROLS;
  let desk = CLEAR_DESK;
  let heard: Heard | null = null;
  let sounded: Sounded = new Map();
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
  let resultLines: readonly string[] | null = null;

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
    ...slow(),
  });

  const situationNow = (): Situation => {
    feed.poll();
    const row = store.logger();
    heard = hear(heard, row, clock.utc(), clock.monotonic());
    const logger = loggerSign(heard, row, clock.monotonic());
    const at = now();
    const [slots, unseated] = [feed.slots(at), feed.unseated(at)];
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

  const refresh = () => {
    try {
      situation = situationNow();
    } catch (error) {
      // A store that is busy or gone does not end the screen; the last picture stays, and says so.
      const { message } = error as Error;
      // The title names the store; what is wrong with it comes before the line ends.
      const problem = message.startsWith(store.path)
        ? `This picture is old: the store${message.slice(store.path.length)}`
        : `This picture is old, the store cannot be read: ${message}`;
      situation = { ...situation, problem };
    }
  };
  const known = (): Known => ({ season: feed.season, now: now(), zone: entry.zone });
  const storyOf = cupStories(store, clock.monotonic);
  const cupPageOf = (cup: CupLabel, size: Size): readonly Line[] => {
    const line = (text: string, tone?: Tone): Line => [span(fitted(text, size.columns), tone)];
    let story: CupStory | null;
    try {
      story = storyOf(feed.season, cup, now());
    } catch (error) {
      return [line(`The store cannot be read: ${(error as Error).message}`, 'alarm')];
    }
    if (story === null) return [line(`There is no cup ${cup}.`)];
    const { shown, observations, history, ruling } = story;
    const room = { columns: size.columns, rows: pageRows(size, panel(size)) };
    return cupPage(shown, observations, history, ruling, controls.unit, room);
  };
  /** The lines of a page other than the picture; null for the picture. */
  const pageLines = (size: Size): readonly Line[] | null => {
    const asLines = (texts: readonly string[]) =>
      texts.map((text): Line => [span(fitted(text, size.columns))]);
    switch (desk.page.shows) {
      case 'picture':
        return null;
      case 'help':
        return asLines(HELP);
      case 'cup':
        return cupPageOf(desk.page.cup, size);
      case 'results':
        return asLines(resultPage(feed.season, desk.page.visit, entry.resultOf));
    }
  };
  const panel = (size: Size): Line[] => {
    const { unit, muted, page } = controls;
    const drawn = (pages: number) =>
      panelLines(
        desk,
        known(),
        { unit, muted, caution: CAUTION, page: Math.min(page, pages - 1) + 1, pages },
        size.columns,
      );
    // How many pages there are depends on how high the panel is, which does not depend on the number in it.
    return drawn(pageCount(situation, controls, size, drawn(1)));
  };
  const control = (key: Key, size: Size) => {
    const lines = resultLines ?? pageLines(size);
    controls = pressed(controls, key, {
      pages: pageCount(situation, controls, size, panel(size)),
      lines: lines?.length ?? 0,
      shown: resultLines === null ? pageRows(size, panel(size)) : resultRows(size),
      alarms: situation.alarms.map(({ id }) => id),
    });
  };
  const recordForm = (filling: Filling) => {
    const { form, answers } = filling;
    const told = form.summary(answers, known());
    try {
      const { seqs } = entry.record((writable, season) => {
        const seen: Known = { ...known(), season };
        const { at, withinMinutes, late } = timesIn(answers);
        return form.facts(answers, seen, {
          store: writable,
          at: instantAt(at ?? undefined, form.zone(answers, seen), seen.now, 'The time'),
          within: withinMinutes === 0 ? null : minutes(withinMinutes),
          who: entry.who,
          late,
          now: seen.now,
        });
      });
      // What is typed next is about what was just recorded.
      refresh();
      desk = afterRecord(
        desk,
        { form, cup: (answers.get('cup') as CupLabel) ?? null, seqs },
        `Recorded: ${told}`,
      );
    } catch (error) {
      if (!(error instanceof Error)) throw error;
      const why =
        error instanceof Refusal ? error.message : `Nothing was recorded, try again: ${error.message}`;
      desk = afterRefusal(desk, why);
    }
  };

  return {
    look() {
      refresh();
      const { sound, sounded: next } = bell(sounded, situation.alarms, controls, clock.monotonic());
      sounded = next;
      controls = { ...controls, acknowledged: stillAcknowledged(controls.acknowledged, sounded) };
      return sound;
    },
    showResults() {
      resultLines ??= results().flatMap((text) => text.split('\n'));
    },
    get showsResults() {
      return resultLines !== null;
    },
    get theme() {
      return controls.theme;
    },
    press(key, size) {
      if (resultLines !== null) return pressAtEnd(key, size);
      const before = desk.page;
      const { desk: next, act } = press(desk, key, known());
      desk = next;
      if (desk.page !== before) controls = { ...controls, scroll: 0 };
      switch (act?.does) {
        case undefined:
        case 'results':
          break;
        case 'quit':
          return true;
        case 'record':
          recordForm(act.filling);
          break;
        case 'turn-page':
          control(act.key as Key, size);
          break;
        default:
          control(act!.does, size);
      }
      return false;
    },
    lines(size) {
      if (resultLines !== null) return resultsFrame(title, resultLines, controls, size);
      const page = pageLines(size);
      return page === null
        ? liveFrame(situation, controls, size, panel(size))
        : pageFrame(title, page, situation.alarms, controls, size, panel(size));
    },
  };

  function pressAtEnd(key: Press, size: Size): boolean {
    if (key === 'enter' || key === 'quit' || key === 'back') return true;
    if (typeof key === 'object') return key.typed === 'q' || key.typed === '*';
    control(key as Key, size);
    return false;
  }
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
