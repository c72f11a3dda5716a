import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { LiveState } from '../../src/exposure/live.js';
import { type AlarmRow, alarmLines, alarmRows } from '../../src/screen/alarms.js';
import { type Line, widthOf } from '../../src/screen/line.js';
import { cupView, slotView } from './views.js';

const ALIVE = { silent: false, words: 'logging' };
const texts = (lines: readonly Line[]) => lines.map((line) => line.map(({ text }) => text).join(''));

describe('alarmRows()', () => {
  const inSlot = (slot: number, cup: string, state: Partial<LiveState>) =>
    slotView({ slot, cup: cupView({ cup, state }) });
  const act = { level: 'act-now', kind: 'cold', text: 'cold' } as const;
  const due = { level: 'due', kind: 'turn', text: 'turn now' } as const;

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

  it('is another alarm when something else is to be done, or another cup, and the same when only its words change', () => {
    const idOf = (alarm: Partial<NonNullable<LiveState['alarm']>>, cup = 'c1') =>
      alarmRows([inSlot(1, cup, { alarm: { ...act, ...alarm } })], [], ALIVE)[0]!.id;
    const first = idOf({});
    expect(idOf({ text: 'cold in about 3 min' })).toBe(first);
    // Both are of the same level: who has seen the one has not seen the other.
    expect(idOf({ kind: 'hot' })).not.toBe(first);
    expect(idOf({}, 'c2')).not.toBe(first);
  });

  it('is silent about a spoiled cup', () => {
    expect(
      alarmRows([slotView({ cup: cupView({ state: { alarm: act }, spoiled: true }) })], [], ALIVE),
    ).toEqual([]);
  });
});

describe('alarmLines()', () => {
  const row = (cup: string, given: Partial<AlarmRow> = {}): AlarmRow => ({
    id: `cold ${cup}`,
    kind: 'cold',
    level: 'act-now',
    place: 'A:4',
    cup,
    yard: 'sedge-12',
    text: 'cold in about 6 min: warm the cabin or move it inwards',
    ...given,
  });
  const NONE = new Set<string>();

  it('says where, what and what to do, then whose, as far as that fits', () => {
    const at = (width: number) => texts(alarmLines([row('260512-04')], NONE, width, 9));
    expect(at(120)).toEqual([
      'ACT NOW slot A:4 cold in about 6 min: warm the cabin or move it inwards (260512-04, sedge-12)',
    ]);
    expect(at(85)).toEqual([
      'ACT NOW slot A:4 cold in about 6 min: warm the cabin or move it inwards (260512-04)',
    ]);
    expect(at(80)).toEqual(['ACT NOW slot A:4 cold in about 6 min: warm the cabin or move it inwards']);
    expect(at(60)).toEqual([
      'ACT NOW slot A:4 cold in about 6 min: warm the cabin or move',
      '        it inwards',
    ]);
  });

  it('names the cup that is in no slot', () => {
    expect(texts(alarmLines([row('260512-04', { place: '' })], NONE, 120, 9))[0]).toMatch(
      /^ACT NOW cup 260512-04 cold in/,
    );
  });

  it('puts what was acknowledged last, and says so', () => {
    const lines = texts(alarmLines([row('c1'), row('c2')], new Set(['cold c1']), 120, 9));
    expect(lines[0]).toMatch(/^ACT NOW .*c2/);
    expect(lines[1]).toMatch(/^seen .*c1/);
  });

  it('says once what is to be done for several slots when there is no room for each', () => {
    const rows = [1, 2, 3].map((slot) => row(`c${slot}`, { place: `B:${slot}` }));
    const other = row('c4', { place: 'A:1', kind: 'hot', text: 'hot' });
    expect(texts(alarmLines([...rows, other], NONE, 90, 4))).toHaveLength(4);
    expect(texts(alarmLines([...rows, other], NONE, 90, 3))).toEqual([
      'ACT NOW slots B:1, B:2, B:3 cold in about 6 min: warm the cabin or move it inwards',
      'ACT NOW slot A:1 hot (c4, sedge-12)',
    ]);
  });

  it('tells the first alarm in any case, cut where it must be', () => {
    const rows = [row('c1'), row('c2', { kind: 'hot', place: 'B:1', text: 'hot' })];
    expect(texts(alarmLines(rows, NONE, 60, 1))).toEqual([
      'ACT NOW slot A:4 cold in about 6 min: warm the cabin or … +1',
    ]);
    expect(texts(alarmLines(rows, NONE, 60, 2))).toEqual([
      'ACT NOW slot A:4 cold in about 6 min: warm the cabin or move',
      '        it inwards +1',
    ]);
    expect(texts(alarmLines(rows.slice(0, 1), NONE, 60, 1))).toEqual([
      'ACT NOW slot A:4 cold in about 6 min: warm the cabin or mov…',
    ]);
  });

  it('counts what finds no room', () => {
    const kinds = ['cold', 'hot', 'turn', 'near-cold', 'refill'] as const;
    const rows = kinds.map((kind, i) => row(`c${i}`, { kind }));
    expect(texts(alarmLines(rows, NONE, 120, 3)).at(-1)).toBe('and 3 more alarms');
    expect(texts(alarmLines(rows, NONE, 120, 5)).join()).not.toContain('more');
    expect(texts(alarmLines(rows, NONE, 120, 4)).at(-1)).toBe('and 2 more alarms');
  });

  it('keeps to its room and its width, and loses no alarm untold', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.record({
            cup: fc.stringMatching(/^[a-z0-9]{1,32}$/),
            text: fc.stringMatching(/^[a-z ]{0,90}$/),
          }),
          { maxLength: 9 },
        ),
        fc.integer({ min: 60, max: 140 }),
        fc.nat(12),
        (given, width, room) => {
          // In no slot, so that each is told by itself.
          const rows = given.map(({ cup, text }, i) => row(cup, { id: String(i), place: '', text }));
          const lines = alarmLines(rows, NONE, width, room);
          expect(lines.length).toBeLessThanOrEqual(room);
          for (const line of lines) expect(widthOf(line)).toBeLessThanOrEqual(width);
          const drawn = texts(lines);
          const told = drawn.filter((line) => line.startsWith('ACT NOW')).length;
          const more = Number(
            /^and (\d+) more alarm| \+(\d+)$/
              .exec(drawn.at(-1) ?? '')
              ?.slice(1)
              .find(Boolean) ?? 0,
          );
          if (room > 0) expect(told + more).toBe(rows.length);
        },
      ),
    );
  });
});
