import { describe, expect, it } from 'vitest';
import { cupIn, foldSeason, placeNow } from '../../src/visit/season.js';
import {
  assigns,
  carrier,
  corrects,
  counts,
  label,
  lifts,
  loads,
  minute,
  moves,
  opens,
  recorded,
  rom,
  seats,
  turns,
} from './situation.js';

const ride = recorded(
  opens,
  loads('c1', 1),
  seats('c1', 1, 3),
  moves('c1', 2, 60),
  lifts('c1', 90),
  seats('c1', 1, 95),
  turns('c1', 181),
  counts('c1', 190, { tray: 7 }),
  counts('c1', 500, { wash: 3 }),
  corrects('c1', 510, 7, 9),
);

describe('foldSeason()', () => {
  it('follows a cup from slot to slot', () => {
    const cup = foldSeason(ride).cups.get(label('c1'))!;
    expect(cup.places.map(({ slot, from, to }) => [slot, from, to])).toEqual([
      [1, minute(3), minute(60)],
      [2, minute(60), minute(90)],
      [1, minute(95), minute(181)],
    ]);
    expect(cup).toMatchObject({ load: minute(1), turn: minute(181) });
  });

  it('keeps what was not read apart from zero, and takes a correction', () => {
    expect(foldSeason(ride).cups.get(label('c1'))!.counts).toEqual({ tray: 9, wash: 3, bees: null });
  });

  it('gives the same whether folded at once or in two parts', () => {
    expect(foldSeason(ride.slice(4), foldSeason(ride.slice(0, 4)))).toEqual(foldSeason(ride));
  });

  it('knows which cup is in a slot, and when none is', () => {
    const halfway = foldSeason(ride.slice(0, 4));
    expect(cupIn(halfway, carrier, 2, minute(70))?.cup).toBe('c1');
    expect(cupIn(halfway, carrier, 1, minute(70))).toBeNull();
    expect(placeNow(foldSeason(ride).cups.get(label('c1'))!)).toBeNull();
  });

  it('knows that a slot was taken at an earlier time', () => {
    const halfway = foldSeason(ride.slice(0, 4));
    expect(cupIn(halfway, carrier, 1, minute(30))?.cup).toBe('c1');
  });

  it('takes a probe out of its old slot when it is assigned to another, in whatever order that is told', () => {
    const there = (...facts: Parameters<typeof recorded>) =>
      [...foldSeason(recorded(...facts)).carriers.get(carrier)!.slots].map(([slot, history]) => [
        slot,
        history.map((each) => [each.rom, each.from]),
      ]);
    const expected = [
      [
        1,
        [
          [rom, minute(0)],
          [null, minute(60)],
        ],
      ],
      [2, [[rom, minute(60)]]],
    ];
    expect(there(assigns(1, rom, 0), assigns(2, rom, 60))).toEqual(expected);
    expect(there(assigns(2, rom, 60), assigns(1, rom, 0))).toEqual(expected);
  });
});
