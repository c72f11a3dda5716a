import type { Alarm } from '../exposure/live.js';
import type { ReadyCup } from '../plan/planned.js';
import type { Fact } from '../store/facts.js';
import type { Store } from '../store/store.js';
import { hanging } from '../units/hanging.js';
import type { CupLabel } from '../units/ids.js';
import { Refusal } from '../units/refusal.js';
import { minutes } from '../units/time.js';
import type { Telling } from '../units/zone.js';
import { crewNames } from '../visit/crewNames.js';
import type { Season } from '../visit/season.js';
import { instantAt } from '../visit/when.js';
import { bell, type Sounded, stillAcknowledged } from './bell.js';
import { forCounting, isCounting } from './blind.js';
import { CONTROLS, type Controls, isMove, type Key, pressed, type Theme } from './controls.js';
import { cupPage } from './cupPage.js';
import { type CupStory, cupStories } from './cupStories.js';
import { afterRecord, afterRefusal, CLEAR_DESK, type Press, press } from './entry/desk.js';
import { type Filling, type Known, tellingOf, timesIn } from './entry/form.js';
import { HELP } from './entry/help.js';
import { resultPage } from './entry/pages.js';
import { panelLines } from './entry/panel.js';
import { liveFrame } from './frame.js';
import { fitted, type Line, span, type Tone } from './line.js';
import { type LookoutOptions, lookoutOn } from './lookout.js';
import { pageFrame, pageRows } from './pageFrame.js';
import { pagesOf } from './pages.js';
import type { Size } from './size.js';
import { steady } from './steady.js';
import { dayTimeText } from './view.js';

export interface SessionOptions extends LookoutOptions {
  /** What is shown at the end, asked for once; each text is one or more lines. */
  readonly results: () => readonly string[];
  /** What people enter with keys. */
  readonly entry: EntryOptions;
  /** How it begins; keys change it. */
  readonly controls?: Controls;
}

/** So many names are offered to choose from. */
const NAMES_MAX = 5;

export interface EntryOptions {
  /** Of this computer, for visits that are opened here. */
  readonly zone: string;
  /** Whose name stands beside what is entered, to begin with. */
  readonly who: string | null;
  /** Records facts in one transaction: all of them, or, with a Refusal, none. */
  readonly record: (
    make: (store: Store, season: Season) => readonly Fact[],
    /** Writes the instants in that Refusal. */
    tell: Telling,
  ) => RecordedNow;
  /** What came out of a visit whose counts are complete, for people. */
  readonly resultOf: (visit: string) => string;
  /** A plan whose answers are offered. */
  readonly plan?: readonly ReadyCup[];
}

export interface RecordedNow {
  /** Numbers of the facts. */
  readonly seqs: readonly number[];
}

/** What one screen shows, and what it has been told with keys; knows no terminal. */
export interface Session {
  /** Looks at the store again. Gives the sound that what is new calls for, null when none. */
  look(): Alarm['level'] | null;
  /** Whether something was entered since the last look. */
  isBehind(): boolean;
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
  now: timeNow,
  clock,
  title,
  zone,
  results,
  entry,
  diskFree,
  hindered,
  controls: begun = CONTROLS,
}: SessionOptions): Session {
  const now = steady(timeNow);
  const lookout = lookoutOn({ store, now, clock, title, zone, diskFree, hindered });
  let controls = begun;
  let desk = CLEAR_DESK;
  let sounded: Sounded = new Map();
  let resultLines: readonly string[] | null = null;

  let who = entry.who;
  /** Names that were given on this screen, whether they have entered something yet or not. */
  const given = new Set(who === null ? [] : [who]);
  const namesOf = remembered(
    () => {
      try {
        return crewNames(store, lookout.season, NAMES_MAX);
      } catch {
        // A store that is gone for a while is told of elsewhere; the form stays.
        return [];
      }
    },
    () => lookout.season,
  );
  const known = (): Known => ({
    season: lookout.season,
    now: now(),
    zone: entry.zone,
    who,
    names: () => [...new Set([...namesOf(''), ...given])].slice(0, NAMES_MAX),
    isMuted: controls.muted,
    toReplace: lookout.situation.alarms.filter(({ kind }) => kind === 'refill').map(({ cup }) => cup),
    plan: entry.plan ?? [],
  });
  const storyOf = cupStories(store, clock.monotonic);
  const cupPageOf = (cup: CupLabel, size: Size): readonly Line[] => {
    const line = (text: string, tone?: Tone): Line => [span(fitted(text, size.columns), tone)];
    let story: CupStory | null;
    try {
      story = storyOf(lookout.season, cup, now());
    } catch (error) {
      return [line(`The store cannot be read: ${(error as Error).message}`, 'alarm')];
    }
    if (story === null) return [line(`There is no cup ${cup}.`)];
    const { shown, observations, history, ruling } = story;
    const room = { columns: size.columns, rows: pageRows(size, panel(size)) };
    return cupPage(shown, observations, history, ruling, controls.unit, room);
  };
  /**
   * The lines of a page other than the picture; null for the picture. While somebody counts there is no other: pages tell
   * rulings, traces and what was read.
   */
  const pageLines = (size: Size): readonly Line[] | null => {
    if (isCounting(desk)) return null;
    switch (desk.page.shows) {
      case 'picture':
        return null;
      case 'help':
        return asLines(HELP, size);
      case 'cup':
        return cupPageOf(desk.page.cup, size);
      case 'results':
        return asLines(resultLinesOf(desk.page.visit), size);
    }
  };
  /** Judging a visit anew takes its time: it is done when something was recorded since, not for every picture. */
  const resultOf = remembered(
    (visit: string) => resultPage(lookout.season, visit, entry.resultOf),
    () => lookout.season,
  );
  const resultLinesOf = (visit: string): readonly string[] => {
    try {
      return resultOf(visit);
    } catch (error) {
      return [`The result cannot be told: ${(error as Error).message}`];
    }
  };
  const panel = (size: Size): Line[] => {
    const { unit, muted } = controls;
    const pages = pagesOf(lookout.situation, size).length;
    const page = Math.min(controls.page, pages - 1) + 1;
    return panelLines(desk, known(), { unit, muted, page, pages }, size.columns);
  };
  const control = (key: Key, size: Size) => {
    const lines = resultLines === null ? pageLines(size) : asLines(resultLines, size);
    controls = pressed(controls, key, {
      pages: pagesOf(lookout.situation, size).length,
      lines: lines?.length ?? 0,
      shown: pageRows(size, resultLines === null ? panel(size) : AT_END),
      alarms: lookout.situation.alarms.map(({ id }) => id),
    });
  };
  const tell: Telling = (at, zone) => dayTimeText(at, zone, now());
  const recordForm = (filling: Filling) => {
    const { form, answers } = filling;
    const told = tellingOf(filling, known());
    try {
      const { seqs } = entry.record((writable, season) => {
        const seen: Known = { ...known(), season };
        const { at, withinMinutes, late } = timesIn(answers);
        return form.facts(answers, seen, {
          store: writable,
          at: instantAt(at ?? undefined, form.zone(answers, seen), seen.now, 'The time'),
          within: withinMinutes === 0 ? null : minutes(withinMinutes),
          who,
          late,
          now: seen.now,
        });
      }, tell);
      // What is typed next is about what was just recorded.
      lookout.look();
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
      lookout.look();
      const { sound, sounded: next } = bell(sounded, lookout.situation.alarms, controls, clock.monotonic());
      sounded = next;
      controls = { ...controls, acknowledged: stillAcknowledged(controls.acknowledged, sounded) };
      return sound;
    },
    isBehind: () => lookout.isBehind(),
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
        case 'name':
          who = act.who;
          given.add(who);
          break;
        case 'turn-page':
          control(act.key, size);
          break;
        default:
          control(act!.does, size);
      }
      return false;
    },
    lines(size) {
      if (resultLines !== null)
        return pageFrame(title, asLines(resultLines, size), [], controls, size, AT_END);
      const page = pageLines(size);
      return page === null
        ? liveFrame(
            isCounting(desk) ? forCounting(lookout.situation) : lookout.situation,
            controls,
            size,
            panel(size),
          )
        : pageFrame(title, page, lookout.situation.alarms, controls, size, panel(size));
    },
  };

  function pressAtEnd(key: Press, size: Size): boolean {
    if (key === 'enter' || key === 'quit' || key === 'back') return true;
    if (typeof key === 'object') {
      if (key.typed === '-') control('more', size);
      return key.typed === 'q' || key.typed === '*';
    }
    if (isMove(key)) control(key, size);
    return false;
  }
}

/** What `task` gave last, as long as it is asked the same and `basis` is the same. */
function remembered<T>(task: (asked: string) => T, basis: () => unknown): (asked: string) => T {
  let last: { readonly asked: string; readonly on: unknown; readonly value: T } | null = null;
  return (asked) => {
    const on = basis();
    if (last === null || last.asked !== asked || last.on !== on) last = { asked, on, value: task(asked) };
    return last.value;
  };
}

/** In place of the panel when there is nothing more to enter. */
const AT_END: readonly Line[] = [[span('q or Enter: done', 'quiet')]];

/** Texts as lines that the window shows whole. */
const asLines = (texts: readonly string[], { columns }: Size): Line[] =>
  texts.flatMap((text) => hanging(text, columns)).map((line): Line => [span(fitted(line, columns))]);
