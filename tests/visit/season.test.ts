import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Fact } from '../../src/store/facts.js';
import { foldSeason } from '../../src/visit/season.js';
import {
  assigns,
  carrier,
  corrects,
  correctsEntry,
  counts,
  label,
  lifts,
  loads,
  minute,
  moves,
  opens,
  recorded,
  rewashes,
  rom,
  seats,
  turns,
} from './situation.js';

type CountCorrected = Extract<Fact, { type: 'count-corrected' }>;

const HANDLING = [
  opens,
  loads('c1', 1),
  seats('c1', 1, 3),
  moves('c1', 2, 60),
  lifts('c1', 90),
  seats('c1', 1, 95),
  turns('c1', 181),
] as const;
const ride = recorded(
  ...HANDLING,
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

  it('gives the same stretches in whatever order they were entered', () => {
    const [open, load, ...rest] = HANDLING;
    const of = (facts: Parameters<typeof recorded>) => {
      const { places, turn } = foldSeason(recorded(open, load, ...facts)).cups.get(label('c1'))!;
      return { places, turn };
    };
    fc.assert(
      fc.property(fc.shuffledSubarray(rest, { minLength: rest.length }), (facts) => {
        expect(of(facts)).toEqual(of([...rest]));
      }),
    );
    // Negative control: another time gives other stretches.
    expect(of([...rest.slice(0, 4), turns('c1', 182)])).not.toEqual(of([...rest]));
  });

  it('takes a correction as if it had been written down so, and keeps what stood there', () => {
    const cup = foldSeason([
      ...ride,
      ...recorded(...Array(10).fill(opens), correctsEntry('c1', 3, 'slot', 1, 4)).slice(10),
    ]).cups.get(label('c1'))!;
    expect(cup.places[0]).toMatchObject({ slot: 4, from: minute(3) });
    expect(cup.changes).toMatchObject([{ field: 'slot', old: 1, new: 4, afterCounts: true }]);
  });

  it('adds up washes, and corrects the one that was wrong', () => {
    const wash = (...facts: Parameters<typeof recorded>) => {
      const { washes, counts: read } = foldSeason(
        recorded(opens, loads('c1', 1), turns('c1', 181), ...facts),
      ).cups.get(label('c1'))!;
      return { washes, wash: read.wash };
    };
    const first = counts('c1', 190, { wash: 3 });
    const again = rewashes('c1', 200, 2);
    const corrected: Fact = {
      ...(corrects('c1', 210, 2, 1) as CountCorrected),
      field: 'wash',
      washNumber: 2,
    };
    expect(wash()).toEqual({ washes: [], wash: null });
    expect(wash(first, again)).toEqual({ washes: [3, 2], wash: 5 });
    expect(wash(first, again, corrected)).toEqual({ washes: [3, 1], wash: 4 });
  });

  it('gives the same whether folded at once or in two parts', () => {
    expect(foldSeason(ride.slice(4), foldSeason(ride.slice(0, 4)))).toEqual(foldSeason(ride));
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
