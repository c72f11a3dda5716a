import { describe, expect, it } from 'vitest';
import type { Fact } from '../../src/store/facts.js';
import { parseBoardId } from '../../src/units/ids.js';
import { celsius } from '../../src/units/temperature.js';
import { offersFor } from '../../src/visit/marks.js';
import { foldSeason } from '../../src/visit/season.js';
import { assigns, carrier, inventedRom, loads, minute, opens, otherRom, recorded, rom } from './situation.js';

const board = parseBoardId('0A1B2C3D')!;
const binds: Fact = { type: 'board-bound', carrier, board, at: minute(0) };
const mark = { type: 'mark-stamped', board, boot: 1, boardMs: 1, isProven: true, at: minute(30) } as const;
const facts = recorded(opens, binds, assigns(1), assigns(2, otherRom), loads('C-1', 28), loads('C-2', 10));
const season = foldSeason(facts);
/** Three readings a minute: before the mark at the one temperature, from it on at the other. */
const jump = (before: number, after: number, perMinute = 0) =>
  Array.from({ length: 180 }, (_, count) => ({
    at: minute(count / 3),
    celsius: celsius((count < 90 ? before : after) + (perMinute * count) / 3),
  }));
const offer = (one: [number, number, number?], other: [number, number, number?], change: object = {}) =>
  offerFor({ ...mark, ...change }, season, facts, (probe) => (probe === rom ? jump(...one) : jump(...other)));
function offerFor(
  alone: Parameters<typeof offersFor>[0][number],
  ...[of, known, observationsOf]: [typeof season, typeof facts, ReturnType<Parameters<typeof offersFor>[3]>]
) {
  return offersFor([alone], of, known, () => observationsOf)[0]!;
}

describe('offersFor()', () => {
  it('names the slots whose temperature changed, the largest change first', () => {
    const steps = offer([25, 23], [20, 30]).steps;
    expect(steps.map(({ slot, change }) => [slot, Math.round(change * 1e6) / 1e6])).toEqual([
      [2, 10],
      [1, -2],
    ]);
  });

  it('names no slot for the weather, however fast the air warms, nor for a small step', () => {
    expect(offer([25, 25, 0.4], [25, 24.8]).steps).toEqual([]);
  });

  it('names a slot whose cup is cooler than the air that warms: it leaves its course', () => {
    expect(offer([25, 24.5, 0.4], [25, 25, 0.4]).steps).toMatchObject([{ slot: 1 }]);
  });

  it('names the slot with the cup when a door is opened and all slots change', () => {
    const roms = Array.from({ length: 6 }, (_, index) => inventedRom(index + 1));
    const six = foldSeason(recorded(opens, binds, ...roms.map((each, index) => assigns(index + 1, each))));
    const steps = (ofFourth: number) =>
      offerFor(mark, six, [], (probe) => jump(25, probe === roms[3] ? ofFourth : 24)).steps;
    expect(steps(26)).toMatchObject([{ slot: 4 }]);
    expect(steps(24)).toEqual([]);
  });

  it('names no slot without readings before or after', () => {
    const only = (isKept: (at: number) => boolean) =>
      offerFor(mark, season, facts, () => jump(20, 30).filter(({ at }) => isKept(at))).steps;
    expect(only(() => true)).toHaveLength(2);
    expect(offer([20, 30], [25, 25]).compared).toBe(2);
    expect(offerFor(mark, season, facts, () => [])).toMatchObject({ compared: 0, steps: [] });
    expect(only((at) => at >= mark.at)).toEqual([]);
    expect(only((at) => at < mark.at)).toEqual([]);
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

  it('puts a slot that changed more at another press nearby behind the others, and says where', () => {
    // A cup comes to slot 2 at its press, one to slot 1 two minutes earlier: its slot is on its way still.
    const came = (at: number, by: number) =>
      Array.from({ length: 180 }, (_, count) => ({
        at: minute(count / 3),
        celsius: celsius(20 + by * (1 - Math.exp(-Math.max(0, count / 3 - at)))),
      }));
    const steps = (second: number) =>
      offersFor(
        [
          { ...mark, at: minute(28) },
          { ...mark, at: minute(second) },
        ],
        season,
        facts,
        () => (probe) => (probe === rom ? came(28, 8) : came(second, 1)),
      ).map((each) => each.steps.map(({ slot, moreAt }) => [slot, moreAt]));
    expect(steps(30)[1]).toEqual([
      [2, null],
      [1, 1],
    ]);
    expect(steps(30)[0]![0]).toEqual([1, null]);
    // Negative control: a press long after is not that slot's.
    expect(steps(45)[1]).toEqual([[2, null]]);
  });
});
