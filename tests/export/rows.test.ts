import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type ExportRow, type Selection, seriesOf } from '../../src/export/rows.js';
import { gatherableBlock } from '../../src/store/gathered.js';
import { openSqlite } from '../../src/store/sqlite.js';
import type { Store } from '../../src/store/store.js';
import { parseBoardId } from '../../src/units/ids.js';
import { utcMs } from '../../src/units/time.js';
import { seasonOf } from '../../src/visit/season.js';
import { BOARDS, END_OF_TIME, type Fresh, mornings, NINE, reading, romOf, scans } from '../store/invented.js';
import { eachInNewStore } from '../visit/newStore.js';
import { assigns, carrier, iceChecks, minute, OPENED } from '../visit/situation.js';
import { ALL } from './someReadings.js';

let store: Store;
eachInNewStore((each) => {
  store = each;
});
const add = (readings: readonly Fresh[]) => store.transaction(() => store.addReadings(readings));
const sealAll = () => {
  while (store.sealOldest(END_OF_TIME, Number.MAX_SAFE_INTEGER, NINE) !== null);
};
const rowsOf = (selection: Partial<Selection> = {}): ExportRow[] =>
  [...seriesOf(store, seasonOf(store), { ...ALL, ...selection })].flatMap(({ rows }) => [...rows]);
const at = (scan: number) => utcMs(NINE + scan * 10_000);

describe('seriesOf()', () => {
  it('gives every reading once, probe by probe in order of time, sealed or not', () => {
    let round = 0;
    fc.assert(
      fc.property(mornings, (morning) => {
        // Each case has a board of its own in the one store.
        round += 1;
        const board = parseBoardId(round.toString(16).toUpperCase().padStart(8, '0'))!;
        add(morning.map((each) => ({ ...each, board })));
        const ofCase = () => rowsOf().flatMap((row) => (row.reading.board === board ? [row.reading] : []));
        const fresh = ofCase();
        sealAll();
        expect(ofCase()).toEqual(fresh);
        const expected = store
          .probes()
          .flatMap((rom) => store.readings(rom, utcMs(0), END_OF_TIME))
          .filter((each) => each.board === board);
        expect(fresh).toEqual(expected);
        expect(fresh.length).toBe(
          new Set(morning.map((each) => `${each.boot} ${each.scan} ${each.slotIndex}`)).size,
        );
      }),
      { numRuns: 12 },
    );
  });

  it('includes both ends of a span, and nothing beyond', () => {
    add(scans(1, 0, 800));
    sealAll();
    const inside = rowsOf({ from: at(350), to: at(370) }).map(({ reading: { scan } }) => scan);
    expect(inside).toEqual(Array.from({ length: 21 }, (_, index) => 350 + index));
    expect(rowsOf({ from: utcMs(at(350) + 1), to: utcMs(at(370) - 1) })).toHaveLength(19);
  });

  it('tells of a gap only between readings that a ruling may use', () => {
    add([
      reading(0, 0),
      reading(0, 6),
      reading(0, 12, { status: 'bad-crc' }),
      reading(0, 13),
      reading(0, 14, { raw: null, status: 'missing' }),
      reading(0, 20),
    ]);
    // maxGapSeconds of the default rule set is 60: DESIGN, section 4
    expect(rowsOf().map(({ gapSeconds }) => gapSeconds)).toEqual([null, null, null, 70, null, 70]);
    expect(rowsOf().map(({ isUsed }) => isUsed)).toEqual([true, true, false, true, false, true]);
  });

  it('says how well each time is known, by what proved the boot', () => {
    store.transaction(() => {
      store.addReadings([
        reading(0, 1),
        reading(0, 2, { boot: 2 }),
        reading(0, 3, { boot: 2, status: 'unplaced' }),
        reading(0, 4, { boot: 3 }),
      ]);
      for (const [boot, withinMs] of [
        [2, 900],
        [3, 40],
      ] as const)
        store.append(NINE, {
          type: 'boot-read',
          board: BOARDS[0]!,
          boot,
          resetCause: null,
          clock: null,
          scans: 1,
          provenBy: 'clock',
          withinMs,
          at: NINE,
        });
    });
    // 200 ms: HOST_WITHIN, what a host's label is worth at least
    expect(rowsOf().map(({ within }) => within)).toEqual([200, 900, null, 200]);
  });

  it('corrects by the offset that was known at the time, and leaves the raw value', () => {
    const rom = romOf(0);
    add([reading(0, 0, { utc: OPENED, raw: 320 }), reading(0, 1, { utc: minute(2), raw: 320 })]);
    store.append(OPENED, iceChecks(0.25, 1, rom));
    expect(rowsOf().map(({ celsius, offset, reading: { raw } }) => [celsius, offset, raw])).toEqual([
      [20, null, 320],
      [19.75, 0.25, 320],
    ]);
  });

  it('takes probes of a slot only while they sat in it', () => {
    const rom = romOf(0);
    add(Array.from({ length: 5 }, (_, scan) => reading(0, scan, { utc: minute(scan * 10) })));
    store.append(OPENED, assigns(3, rom, 10), assigns(4, rom, 30));
    const inSlot = (slot: number) =>
      rowsOf({ isWanted: (place) => place.carrier === carrier && place.slot === slot }).map(
        ({ reading: { scan } }) => scan,
      );
    expect(inSlot(3)).toEqual([1, 2]);
    expect(inSlot(4)).toEqual([3, 4]);
    expect(inSlot(5)).toEqual([]);
    expect(rowsOf().map(({ place }) => place?.slot ?? null)).toEqual([null, 3, 3, 4, 4]);
  });

  it('leaves out what arrives while it goes on', () => {
    add(scans(1, 0, 400));
    const series = seriesOf(store, seasonOf(store), ALL);
    const first = series.next();
    add(scans(1, 401, 500));
    const rest = [...series];
    const all = [...(first.value as { rows: ExportRow[] }).rows, ...rest.flatMap(({ rows }) => [...rows])];
    expect(all.map(({ reading: { scan } }) => scan)).toEqual(Array.from({ length: 401 }, (_, scan) => scan));
  });

  it('counts sealed hours that cannot be read, and gives the others (negative control)', () => {
    add(scans(2, 0, 400));
    sealAll();
    const whole = rowsOf().length;
    const unreadable = () =>
      [...seriesOf(store, seasonOf(store), ALL)].reduce((sum, part) => sum + part.unreadableBlocks, 0);
    expect(unreadable()).toBe(0);
    const sqlite = openSqlite(store.path, 'write');
    sqlite.run("UPDATE blocks SET bytes = X'00' WHERE id = (SELECT MIN(id) FROM blocks)");
    sqlite.close();
    expect(unreadable()).toBe(1);
    expect(rowsOf()).toHaveLength(whole - 360);
  });

  it('gives what was gathered from another store under the name of that store', () => {
    add(scans(1, 0, 3));
    const other = 'fedcba9876543210';
    store.transaction(() => {
      store.gatherChain(other, []);
      // Numbers of its own, which may be those of readings here, or higher.
      store.gatherBlock(
        other,
        gatherableBlock(
          0,
          [1, 999].map((id, scan) => ({ ...reading(0, scan, { boot: 9 }), id })),
        ),
      );
    });
    const told = rowsOf().map(({ store: from, reading: { id, scan } }) => [from === other, id, scan]);
    expect(told.filter(([isOther]) => isOther)).toEqual([
      [true, 1, 0],
      [true, 999, 1],
    ]);
    expect(told).toHaveLength(6);
  });

  it('says how far it is', () => {
    add(scans(3, 0, 800));
    const done = [...seriesOf(store, seasonOf(store), ALL)].map((part) => part.done);
    expect(done).toEqual([...done].sort((a, b) => a - b));
    expect(done.at(-1)).toBe(1);
  });
});
