import { describe, expect, it } from 'vitest';
import type { Fact } from '../../src/store/facts.js';
import { parseBoardId } from '../../src/units/ids.js';
import { celsius } from '../../src/units/temperature.js';
import { offerFor } from '../../src/visit/marks.js';
import { foldSeason } from '../../src/visit/season.js';
import { assigns, carrier, loads, minute, opens, otherRom, recorded, rom } from './situation.js';

const board = parseBoardId('0A1B2C3D')!;
const binds: Fact = { type: 'board-bound', carrier, board, at: minute(0) };
const mark = { type: 'mark-stamped', board, boot: 1, boardMs: 1, isProven: true, at: minute(30) } as const;
const facts = recorded(opens, binds, assigns(1), assigns(2, otherRom), loads('C-1', 28), loads('C-2', 10));
const season = foldSeason(facts);
/** One reading a minute: before the mark at the one temperature, from it on at the other. */
const jump = (before: number, after: number) =>
  Array.from({ length: 60 }, (_, count) => ({
    at: minute(count),
    celsius: celsius(count < 30 ? before : after),
  }));
const offer = (one: [number, number], other: [number, number], change: object = {}) =>
  offerFor({ ...mark, ...change }, season, facts, (probe) => (probe === rom ? jump(...one) : jump(...other)));

describe('offerFor()', () => {
  it('names the slots whose temperature changed, the largest change first', () => {
    expect(offer([25, 23], [20, 30]).steps).toEqual([
      { carrier, slot: 2, change: 10 },
      { carrier, slot: 1, change: -2 },
    ]);
  });

  it('names no slot for the weather', () => {
    expect(offer([25, 26], [25, 24]).steps).toEqual([]);
  });

  it('names what is on record within three minutes, and no more', () => {
    expect(offer([25, 25], [25, 25]).known).toEqual([{ cup: 'C-1', did: 'loaded', at: minute(28) }]);
  });

  it('looks at no temperature when the time is not proven', () => {
    expect(offer([20, 30], [20, 30], { isProven: false }).steps).toEqual([]);
  });

  it('looks only at the carrier that the board is built into', () => {
    expect(offer([20, 30], [20, 30], { board: parseBoardId('00000001')! }).steps).toEqual([]);
  });
});
