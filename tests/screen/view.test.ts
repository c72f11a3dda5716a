import { describe, expect, it } from 'vitest';
import type { LiveState } from '../../src/exposure/live.js';
import type { Line } from '../../src/screen/line.js';
import {
  alarmRows,
  clockText,
  ROW_WIDTH_MIN,
  slotLine,
  stateOf,
  temperatureText,
  timeLeftText,
  unseatedText,
  zoneOf,
} from '../../src/screen/view.js';
import { celsius } from '../../src/units/temperature.js';
import { EMPTY_SEASON, foldSeason } from '../../src/visit/season.js';
import { SEVEN, visit, visitOpened } from './invented.js';
import { cupView, slotView } from './views.js';

const ALIVE = { silent: false, words: 'logging' };
const text = (line: Line) => line.map((span) => span.text).join('');

describe('temperatureText()', () => {
  // Expected by hand: F = 9/5 C + 32.
  it.each([
    [21.4375, 'C', '21.4°C'],
    [-0.0625, 'C', '-0.1°C'],
    [-0.03, 'C', '0.0°C'],
    [0, 'F', '32.0°F'],
    [15.5625, 'F', '60.0°F'],
    [-20, 'C', '-20.0°C'],
    [60, 'F', '140.0°F'],
  ] as const)('writes %d °C in %s as %s', (degrees, unit, expected) => {
    expect(temperatureText(celsius(degrees), unit)).toBe(expected);
  });
});

describe('timeLeftText()', () => {
  it.each([
    [180, '3:00'],
    [179.5, '3:00'],
    [60, '1:00'],
    [59.99, '1:00'],
    [0.01, '0:01'],
    [0, 'due now'],
    [-0.99, 'due now'],
    [-1, 'over 0:01'],
    [-4.9, 'over 0:04'],
    [-61, 'over 1:01'],
  ])('writes %d min as %s', (minutes, expected) => expect(timeLeftText(minutes)).toBe(expected));
});

describe('clockText()', () => {
  it.each([
    ['Europe/Berlin', '07:00:00 CEST'],
    ['America/New_York', '01:00:00 EDT'],
    ['Australia/Sydney', '15:00:00 AEST'],
    ['Asia/Kolkata', '10:30:00 GMT+5:30'],
    ['UTC', '05:00:00 UTC'],
    ['Nowhere/At_All', '05:00:00 UTC'],
  ])('writes 05:00 UTC in %s as %s', (zone, expected) => expect(clockText(SEVEN, zone)).toBe(expected));
});

describe('zoneOf()', () => {
  const recorded = (...facts: Parameters<typeof visitOpened>[0][]) =>
    facts.map((zone, i) => ({ seq: i, recorded: SEVEN, fact: visitOpened(zone) }));
  const closed = {
    seq: 9,
    recorded: SEVEN,
    fact: { type: 'visit-closed' as const, visit, at: SEVEN },
  };

  it('is that of the first open visit', () => {
    expect(zoneOf(foldSeason(recorded('Europe/Paris')), 'Etc/GMT+5')).toBe('Europe/Paris');
  });

  it('is UTC when no visit is open', () => {
    expect(zoneOf(EMPTY_SEASON, 'Etc/GMT+5')).toBe('Etc/GMT+5');
    expect(zoneOf(foldSeason([...recorded('Europe/Paris'), closed]), 'Etc/GMT+5')).toBe('Etc/GMT+5');
  });
});

describe('stateOf()', () => {
  it.each<[Partial<LiveState>, string, string]>([
    [{ word: 'warm' }, 'warm', 'good'],
    [{ word: 'near cold' }, 'near cold', 'watch'],
    [{ word: 'cold' }, 'cold', 'alarm'],
    [{ word: 'near hot' }, 'near hot', 'watch'],
    [{ word: 'hot' }, 'hot', 'alarm'],
    [{ word: 'no reading' }, 'no reading', 'watch'],
    [{ word: 'warm', ruledAlready: 'cold' }, 'ruled out', 'quiet'],
  ])('turns %j into %s', (state, word, tone) => {
    const view = slotView({ cup: cupView({ state }) });
    expect(stateOf(view, view.cup!)).toEqual({ word, tone });
  });

  it('says that a slot with a cup has no probe', () => {
    const view = slotView({ rom: null, cup: cupView({ state: { word: 'not seated' } }) });
    expect(stateOf(view, view.cup!).word).toBe('no probe');
  });

  it('says that a cup is spoiled before all else', () => {
    const view = slotView({ cup: cupView({ state: { word: 'cold' }, spoiled: true }) });
    expect(stateOf(view, view.cup!).word).toBe('spoiled');
  });
});

describe('slotLine()', () => {
  const cold = {
    word: 'cold',
    latest: { celsius: celsius(-12.5), age: 0 as never },
    minutesToDue: -4,
  } as const;
  it.each([
    ['a warm cup', slotView({ cup: cupView() }), ' 1 260512-01 27.5°C warm           0:59'],
    [
      'an overdue cup in frost, its label cut for the degrees',
      slotView({ slot: 16, cup: cupView({ state: cold }) }),
      '16 …0512-01 -12.5°C cold      over 0:04',
    ],
    [
      'a cup without a reading',
      slotView({ cup: cupView({ state: { word: 'no reading', latest: null } }) }),
      ' 1 260512-01       no reading      0:59',
    ],
    [
      'a cup whose last reading is old: it says nothing of now',
      slotView({ cup: cupView({ state: { word: 'no reading' } }) }),
      ' 1 260512-01       no reading      0:59',
    ],
    ['an empty slot', slotView({ cup: null }), ' 1 empty     27.5°C                    '],
    [
      'a slot without a probe',
      slotView({ cup: null, rom: null, latest: null }),
      ' 1 empty            no probe           ',
    ],
    [
      'a long label, by its end',
      slotView({ cup: cupView({ cup: 'sedge-12.2026-05-12.cup-17' }) }),
      ' 1 …2.cup-17 27.5°C warm           0:59',
    ],
  ])('shows %s', (_, view, expected) => {
    expect(text(slotLine(view, 'C', ROW_WIDTH_MIN))).toBe(expected);
  });
});

describe('alarmRows()', () => {
  const inSlot = (slot: number, cup: string, state: Partial<LiveState>) =>
    slotView({ slot, cup: cupView({ cup, state }) });
  const act = { level: 'act-now', text: 'cold' } as const;
  const due = { level: 'due', text: 'turn now' } as const;

  it('puts act-now before due, and the most pressing first in each', () => {
    const rows = alarmRows(
      [
        inSlot(1, 'c1', { alarm: due, minutesToLong: 9 }),
        inSlot(2, 'c2', { alarm: act, coldMinutesLeft: 4 }),
        inSlot(3, 'c3', { alarm: null }),
        inSlot(4, 'c4', { alarm: due, minutesToLong: -3 }),
        inSlot(5, 'c5', { alarm: act, coldMinutesLeft: 2 }),
      ],
      [cupView({ cup: 'c6', state: { alarm: act, coldMinutesLeft: 3 } })],
      ALIVE,
    );
    expect(rows.map(({ place, cup }) => [place, cup])).toEqual([
      ['A:5', 'c5'],
      ['', 'c6'],
      ['A:2', 'c2'],
      ['A:4', 'c4'],
      ['A:1', 'c1'],
    ]);
  });

  it('puts a silent logger before all cups, and nothing there while it is alive', () => {
    const cold = [inSlot(2, 'c2', { alarm: act })];
    const silent = { silent: true, words: 'no sign of the logger for 40 s' };
    expect(alarmRows(cold, [], silent)[0]).toMatchObject({
      level: 'act-now',
      text: 'no sign of the logger for 40 s: start it again',
    });
    expect(alarmRows(cold, [], ALIVE).map(({ cup }) => cup)).toEqual(['c2']);
  });

  it('asks to move a cup out of a slot without a probe, but still says when it is due', () => {
    const state = { word: 'not seated' as const };
    const [row] = alarmRows([slotView({ rom: null, cup: cupView({ state }) })], [], ALIVE);
    expect(row).toMatchObject({ level: 'act-now', text: 'no probe in this slot: move the cup to another' });
    const late = slotView({ rom: null, cup: cupView({ state: { ...state, alarm: due } }) });
    expect(alarmRows([late], [], ALIVE)).toMatchObject([{ level: 'due' }]);
  });

  it('is silent about a spoiled cup', () => {
    expect(
      alarmRows([slotView({ cup: cupView({ state: { alarm: act }, spoiled: true }) })], [], ALIVE),
    ).toEqual([]);
  });
});

describe('unseatedText()', () => {
  const cups = ['c1', 'c2', 'c3'].map((cup, i) => cupView({ cup, state: { minutesToDue: 1 - i } }));
  it.each([
    [80, 'Not seated: c1 (due in 0:01), c2 (due now), c3 (due over 0:01)'],
    [60, 'Not seated: c1 (due in 0:01), c2 (due now) and 1 more'],
    [41, 'Not seated: c1 (due in 0:01) and 2 more'],
    [20, 'Not seated: 3 cups'],
  ])('tells the cups in %i columns', (width, expected) => expect(unseatedText(cups, width)).toBe(expected));

  it('is null when all cups are seated', () => expect(unseatedText([], 80)).toBeNull());
});
