import { describe, expect, it } from 'vitest';
import { afterSlotCommand, type SlotSetting, slotCommands, wantedSlots } from '../../src/logger/slotPlan.js';
import { parseBoardId } from '../../src/units/ids.js';
import { foldSeason } from '../../src/visit/season.js';
import {
  assigns,
  carrier,
  iceChecks,
  lifts,
  loads,
  minute,
  moves,
  opens,
  otherRom,
  recorded,
  rom,
  seats,
  turns,
} from '../visit/situation.js';

const board = parseBoardId('0A1B2C3D')!;
const binds = { type: 'board-bound', carrier, board, at: minute(0) } as const;
const wanted = (...facts: Parameters<typeof recorded>) =>
  wantedSlots(
    foldSeason(recorded(opens, binds, assigns(1), assigns(2, otherRom), ...facts)),
    board,
    minute(200),
  );
// 140/9 degC is 248.9 sixteenths, so 249 is the first that is not cold; 40 degC is 640 (DESIGN, default rule set).
const setting: SlotSetting = { rom, cold: 249, hot: 640, due: minute(181) };

describe('wantedSlots()', () => {
  it('gives a seated cup its limits and when it is due', () => {
    expect([...wanted(loads('C-1', 1), seats('C-1', 1, 3))]).toEqual([[1, setting]]);
  });

  it('shifts the limits of a probe by what it reads too much', () => {
    // By hand: (140/9 + 0.5) x 16 = 256.9, so 257 is the first raw value that is not cold; (40 + 0.5) x 16 = 648.
    expect([...wanted(iceChecks(0.5, 0), loads('C-1', 1), seats('C-1', 1, 3))]).toEqual([
      [1, { ...setting, cold: 257, hot: 648 }],
    ]);
  });

  it('follows a move, and forgets a cup that was lifted or turned', () => {
    const seated = [loads('C-1', 1), seats('C-1', 1, 3)] as const;
    expect([...wanted(...seated, moves('C-1', 2, 9))]).toEqual([[2, { ...setting, rom: otherRom }]]);
    expect(wanted(...seated, lifts('C-1', 9)).size).toBe(0);
    expect(wanted(...seated, turns('C-1', 181)).size).toBe(0);
  });

  it('leaves out a slot without probe and the carriers of other boards', () => {
    expect(wanted(loads('C-1', 1), seats('C-1', 3, 3)).size).toBe(0);
    const season = foldSeason(recorded(opens, binds, assigns(1), loads('C-1', 1), seats('C-1', 1, 3)));
    expect(wantedSlots(season, parseBoardId('00000001')!, minute(9)).size).toBe(0);
  });
});

describe('slotCommands()', () => {
  const set = (...slots: [number, SlotSetting][]) => new Map(slots);

  it('says nothing when all is as it should be', () => {
    expect(slotCommands(set([1, setting]), set([1, setting]))).toEqual([]);
  });

  it.each<[string, Map<number, SlotSetting>, Map<number, SlotSetting>, string[]]>([
    ['a new cup', set([1, setting]), set(), ['limits 1']],
    ['a cup that left', set(), set([1, setting]), ['limits 1']],
    [
      'another cup in the same slot',
      set([1, { ...setting, due: minute(300) }]),
      set([1, setting]),
      ['due 1'],
    ],
    ['another probe', set([1, { ...setting, rom: otherRom }]), set([1, setting]), ['limits 1']],
  ])('tells the board of %s', (_name, want, have, told) => {
    const commands = slotCommands(want, have);
    expect(commands.map((command) => `${command.name} ${'slot' in command ? command.slot : ''}`)).toEqual(
      told,
    );
  });

  it('comes to rest: what was told is what is set', () => {
    const want = set([1, setting], [2, { ...setting, rom: otherRom }]);
    let have = set([1, { ...setting, rom: otherRom }], [5, setting]);
    for (let turn = 0; turn < 20; turn += 1) {
      const [command] = slotCommands(want, have);
      if (!command) break;
      have = afterSlotCommand(have, command);
    }
    expect(have).toEqual(want);
  });
});
