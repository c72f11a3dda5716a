import { probeIn } from '../../src/emulator/scenarios/carriers.js';
import type { LiveState } from '../../src/exposure/live.js';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import { alarmRows } from '../../src/screen/alarms.js';
import type { Controls } from '../../src/screen/controls.js';
import { CLEAR_DESK } from '../../src/screen/entry/desk.js';
import type { Known } from '../../src/screen/entry/form.js';
import { panelLines } from '../../src/screen/entry/panel.js';
import { liveFrame } from '../../src/screen/frame.js';
import type { Line } from '../../src/screen/line.js';
import { pagesOf } from '../../src/screen/pages.js';
import type { Situation } from '../../src/screen/situation.js';
import type { Size } from '../../src/screen/size.js';
import { NO_STATUS } from '../../src/screen/status.js';
import { parseYardCode } from '../../src/units/ids.js';
import { celsius } from '../../src/units/temperature.js';
import { durationMs } from '../../src/units/time.js';
import { EMPTY_SEASON } from '../../src/visit/season.js';
import type { CupView, SlotView } from '../../src/visit/slots.js';
import { carrier, label, SEVEN, visit } from './invented.js';

/** Views made by hand, for what no store need be filled for: a warm cup, 59 minutes before it is due. */
const LATEST = { celsius: celsius(27.5), age: durationMs(3000) };
const WARM: LiveState = {
  latest: LATEST,
  word: 'warm',
  ruledAlready: null,
  coldMinutes: { certain: 0, possible: 0 },
  coldMinutesLeft: 5,
  coldInMinutes: null,
  advice: null,
  minutesToDue: 59,
  minutesToLong: 74,
  alarm: null,
};

export const cupView = (
  given: { cup?: string; colony?: string | null; state?: Partial<LiveState>; spoiled?: boolean } = {},
): CupView => ({
  cup: {
    cup: label(given.cup ?? '260512-01'),
    visit,
    kind: 'strip',
    active: null,
    lot: null,
    colony: given.colony ?? null,
    group: null,
    load: SEVEN,
    turn: null,
    places: [],
    firstRead: { tray: null, washes: [] },
    spoiled: given.spoiled ? { at: SEVEN, why: '', afterCounts: false, replacedBy: null } : null,
    counts: { tray: null, wash: null, bees: null },
    ruled: [],
    overruled: null,
    loadWithin: durationMs(0),
    turnWithin: durationMs(0),
    washes: [],
    bees: null,
    dead: null,
    notes: [],
    entries: [],
    wasCounted: false,
    changes: [],
  },
  visit: {
    visit,
    yard: parseYardCode('sedge-12')!,
    zone: 'UTC',
    opened: SEVEN,
    closed: null,
    active: null,
    lot: null,
    declaredCups: null,
    openings: [],
    rules: DEFAULT_RULES,
  },
  state: { ...WARM, ...given.state },
});

export const slotView = (
  given: Partial<Omit<SlotView, 'carrier'>> & { carrier?: string } = {},
): SlotView => ({
  slot: 1,
  rom: probeIn('A', 1),
  latest: LATEST,
  cup: null,
  hiddenUntil: null,
  ...given,
  carrier: carrier(given.carrier ?? 'A'),
});

/** What the screen shows, as far as the test says; nothing is wrong. */
export function situation(given: Partial<Situation> = {}): Situation {
  const { slots = [], unseated = [], logger = { silent: false, words: 'logging' } } = given;
  return {
    title: 'stillwarm',
    at: SEVEN,
    zone: 'UTC',
    clock: '05:00:00 UTC',
    logger,
    slots,
    unseated,
    observationsOf: () => [],
    unread: [],
    alarms: alarmRows(slots, unseated, logger),
    status: NO_STATUS,
    problem: null,
    ...given,
  };
}

/** What a form may look at on an empty store. */
export const KNOWN_EMPTY: Known = {
  season: EMPTY_SEASON,
  now: SEVEN,
  zone: 'UTC',
  who: null,
  names: () => [],
  isMuted: false,
  toReplace: [],
  plan: [],
};

/** The live screen as it stands while nothing is typed. */
export function usualFrame(given: Situation, controls: Controls, size: Size): Line[] {
  const { unit, muted } = controls;
  const pages = pagesOf(given, size).length;
  const keys = { unit, muted, page: Math.min(controls.page, pages - 1) + 1, pages };
  return liveFrame(given, controls, size, panelLines(CLEAR_DESK, KNOWN_EMPTY, keys, size.columns));
}

/** The words of lines, without blanks at their ends. */
export const texts = (lines: readonly Line[]): string[] =>
  lines.map((line) =>
    line
      .map(({ text }) => text)
      .join('')
      .trimEnd(),
  );
