import { rmSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { encodeBlock, HOUR_MS, openBlock } from '../../src/store/block.js';
import { UNPLACED } from '../../src/store/logShelf.js';
import { openSqlite } from '../../src/store/sqlite.js';
import { openStoreToRead, openStoreToWrite, type Store, type StoredReading } from '../../src/store/store.js';
import { type UtcMs, utcMs } from '../../src/units/time.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { BOARDS, END_OF_TIME, type Fresh, mornings, NINE, romOf, scans } from './invented.js';

const [board] = BOARDS as [(typeof BOARDS)[number]];
const AN_HOUR = 360;
const ALWAYS = [utcMs(0), END_OF_TIME] as const;
const ANY = Number.MAX_SAFE_INTEGER;

let folder: string;
let store: Store;
const path = () => join(folder, 'store');
eachInNewFolder((fresh) => {
  folder = fresh;
  store = openStoreToWrite(path(), NINE);
});
afterEach(() => {
  store.close();
});
const add = (readings: readonly Fresh[], to = store) => to.transaction(() => to.addReadings(readings));
const sealAll = (by: UtcMs = END_OF_TIME) => {
  let hours = 0;
  while (store.sealOldest(by, ANY, NINE) !== null) hours += 1;
  return hours;
};
const sql = <Row extends object>(query: string) => {
  const sqlite = openSqlite(path(), 'write');
  try {
    return sqlite.all<Row>(query);
  } finally {
    sqlite.close();
  }
};
const rows = () => sql<{ n: number }>('SELECT COUNT(*) AS n FROM readings')[0]!.n;
const blocks = () =>
  sql<{ id: number; bytes: ArrayBuffer }>('SELECT id, bytes FROM blocks ORDER BY id').map(({ bytes }) =>
    Buffer.from(bytes),
  );
const sealedFacts = () => store.facts().flatMap(({ fact }) => (fact.type === 'hour-sealed' ? [fact] : []));

/** All that a store tells of its readings; ids as places in the order of arrival, because repeats use some up. */
const contents = (of: Store) => {
  const ids = of.readingsAfter(0, 10_000).map(({ id }) => id);
  const place = (id: number) => ids.indexOf(id);
  const placed = (all: readonly StoredReading[]) => all.map((each) => ({ ...each, id: place(each.id) }));
  return {
    readings: [0, 1, 2].map((serial) => placed(of.readings(romOf(serial), ...ALWAYS))),
    part: placed(of.readings(romOf(1), utcMs(NINE + 1_234_567), utcMs(NINE + HOUR_MS + 77_000))),
    tracks: [0, 1, 2].map((serial) => {
      const { utc, raw } = of.track(romOf(serial), utcMs(NINE + 500_000), utcMs(NINE + 2 * HOUR_MS));
      return [[...utc], [...raw]];
    }),
    arrived: placed(of.readingsAfter(0, 10_000)),
    next: [3, 40].map((after) => placed(of.readingsAfter(ids[after] ?? 0, 17))),
    behind: [0, 7, 50, 100].map((after) => of.readingsBehind(ids[after] ?? 0)),
    scans: [1, 2].map((boot) => [...of.scansOf(board, boot)].sort(([a], [b]) => a - b)),
    times: [1, 2].map((boot) => of.scanTimes(board, boot)),
    newest: of.newestReading()?.utc,
    isNewest: of.newestReading()?.id === ids.at(-1),
    count: of.readingCount(),
  };
};

describe('sealOldest()', () => {
  it('changes nothing of what a store tells, at any state of sealing', () => {
    let run = 0;
    const steps = fc.array(
      fc.oneof(
        mornings.map((morning) => ({ morning })),
        fc.record({ sealed: fc.integer({ min: 1, max: 3 }), by: fc.integer({ min: 1, max: 4 }) }),
        fc.constant({ again: true as const }),
        fc.constant({ placed: true as const }),
      ),
      { minLength: 2, maxLength: 12 },
    );
    fc.assert(
      fc.property(steps, (all) => {
        run += 1;
        const plain = openStoreToWrite(join(folder, `plain-${run}`), NINE);
        const own = openStoreToWrite(join(folder, `own-${run}`), NINE);
        const both = (task: (each: Store) => void) => {
          for (const each of [plain, own]) each.transaction(() => task(each));
        };
        let last: Fresh[] = [];
        for (const step of all) {
          if ('morning' in step) {
            last = step.morning;
            both((each) => each.addReadings(last));
          } else if ('again' in step) both((each) => each.addReadings(last));
          else if ('placed' in step)
            both((each) => {
              for (const { boot, scan } of last) if (boot === 1) each.dropUnplaced(board, 1, scan);
              each.addReadings(last.map((r) => (r.status === UNPLACED ? { ...r, status: 'ok' } : r)));
            });
          else
            for (let time = 0; time < step.sealed; time += 1)
              own.sealOldest(utcMs(NINE + step.by * HOUR_MS), ANY, NINE);
          expect(contents(own)).toEqual(contents(plain));
        }
        expect(own.brokenBlocks()).toEqual([]);
        expect(own.brokenAt()).toBeNull();
        plain.close();
        own.close();
      }),
      { numRuns: 25 },
    );
  });

  it('seals an hour when it has ended and nothing more came, the oldest first', () => {
    add(scans(3, 0, 2 * AN_HOUR + 5));
    const ended = utcMs(NINE + 2 * HOUR_MS);
    expect(store.sealOldest(utcMs(NINE + HOUR_MS - 1), ANY, NINE)).toBeNull();
    expect(store.sealOldest(ended, 3 * AN_HOUR - 1, NINE)).toBeNull();
    expect(store.sealOldest(ended, 3 * AN_HOUR, NINE)).toEqual({
      board,
      boot: 1,
      hour: NINE,
      blocks: 3,
      readings: 3 * AN_HOUR,
    });
    expect(store.sealOldest(ended, ANY, NINE)).toMatchObject({ hour: NINE + HOUR_MS });
    expect(store.sealOldest(ended, ANY, NINE)).toBeNull();
    expect([rows(), blocks().length, store.lastReading()]).toEqual([18, 6, 6 * AN_HOUR + 18]);
  });

  it('puts what comes late beside the others, and writes no block anew', () => {
    const late = (r: Fresh) => r.scan % 50 === 3;
    add(scans(2, 0, AN_HOUR - 1).filter((r) => !late(r)));
    sealAll();
    const before = blocks();
    add(scans(2, 0, AN_HOUR - 1));
    expect(rows()).toBe(16);
    expect(sealAll()).toBe(1);
    expect(blocks().slice(0, 2)).toEqual(before);
    expect(
      sealedFacts().map(({ supplement, blocks: of }) => [supplement, of.length, of[0]!.readings]),
    ).toEqual([
      [0, 2, 352],
      [1, 2, 8],
    ]);
    expect(store.readings(romOf(1), ...ALWAYS).map(({ scan }) => scan)).toEqual(
      Array.from({ length: AN_HOUR }, (_, scan) => scan),
    );
  });

  it('leaves what nobody can place in time until it is placed', () => {
    add(scans(2, 0, 9, { status: UNPLACED }));
    expect(sealAll()).toBe(0);
    store.transaction(() => {
      for (const scan of store.scansOf(board, 1).keys()) store.dropUnplaced(board, 1, scan);
      store.addReadings(scans(2, 0, 9));
    });
    expect(sealAll()).toBe(1);
    expect([rows(), blocks().length]).toEqual([0, 2]);
  });

  it('takes nothing away when a block would not give it back', () => {
    // A board that is none: its id does not fit into the four bytes of a block.
    add(scans(1, 0, 9, { board: 'not-a-board' as never }));
    expect(() => sealAll()).toThrow(/does not fit into a block/);
    expect([rows(), blocks().length, store.facts().length]).toEqual([10, 0, 1]);
  });

  it('is seen whole or not at all by who reads meanwhile', () => {
    add(scans(2, 0, AN_HOUR - 1));
    const reader = openSqlite(path(), 'read');
    const count = (table: string, what: string) =>
      reader.get<{ n: number | null }>(`SELECT ${what} AS n FROM ${table}`)!.n ?? 0;
    const seen = () => {
      const fresh = count('readings', 'COUNT(*)');
      sealAll();
      return fresh + count('blocks', 'SUM(readings)');
    };
    expect(reader.snapshot(seen)).toBe(2 * AN_HOUR);
    expect(reader.snapshot(seen)).toBe(2 * AN_HOUR);
    // Negative control: two queries without a snapshot see the hour twice.
    add(scans(2, AN_HOUR, 2 * AN_HOUR - 1));
    expect(seen()).toBe(6 * AN_HOUR);
    reader.close();
  });

  it('lets nothing be skipped or given twice to who follows the readings', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 1, max: 900 }), { minLength: 3, maxLength: 6 }), (limits) => {
        rmSync(join(folder, 'followed'), { force: true, recursive: true });
        const own = openStoreToWrite(join(folder, 'followed'), NINE);
        const ids: number[] = [];
        let scan = 0;
        const follow = (limit: number) => {
          for (const { id } of own.readingsAfter(ids.at(-1) ?? 0, limit)) ids.push(id);
        };
        for (const limit of limits) {
          add(scans(3, scan, scan + 250), own);
          scan += 251;
          follow(limit);
          own.sealOldest(END_OF_TIME, ANY, NINE);
          expect(own.readingsBehind(ids.at(-1)!)).toBe(own.readingCount() - ids.length);
          follow(limit);
        }
        follow(100_000);
        expect(ids).toEqual(Array.from({ length: 3 * scan }, (_, index) => index + 1));
        own.close();
        for (const left of ['', '-wal', '-shm']) rmSync(join(folder, `followed${left}`), { force: true });
      }),
      { numRuns: 8 },
    );
  });
});

describe('brokenBlocks()', () => {
  const spoil = (id: number, change: (bytes: Uint8Array) => Uint8Array) => {
    const sqlite = openSqlite(path(), 'write');
    const { bytes } = sqlite.get<{ bytes: ArrayBuffer }>('SELECT bytes FROM blocks WHERE id = ?', id)!;
    sqlite.run('UPDATE blocks SET bytes = ? WHERE id = ?', change(new Uint8Array(bytes)), id);
    sqlite.close();
  };
  beforeEach(() => {
    add(scans(3, 0, 2 * AN_HOUR - 1));
    sealAll();
  });

  it('is content with what was sealed', () => {
    expect(store.brokenBlocks()).toEqual([]);
  });

  it('names a block of which a byte was changed, and the rest is still read', () => {
    spoil(2, (bytes) => bytes.map((byte, at) => (at === 100 ? byte ^ 4 : byte)));
    expect(store.brokenBlocks()).toEqual([
      {
        block: `probe ${romOf(1)}, hour 2026-05-12T09:00:00.000Z, board ${board}, boot 1`,
        why: 'its check sum is wrong',
      },
    ]);
    const reader = openStoreToRead(path());
    expect([0, 1, 2].map((serial) => reader.readings(romOf(serial), ...ALWAYS).length)).toEqual([
      2 * AN_HOUR,
      AN_HOUR,
      2 * AN_HOUR,
    ]);
    expect(reader.readingsAfter(0, 10_000)).toHaveLength(5 * AN_HOUR);
    expect(reader.track(romOf(1), ...ALWAYS).utc).toHaveLength(AN_HOUR);
    expect([reader.scansOf(board, 1).get(0), reader.newestReading()?.id]).toEqual([2, 6 * AN_HOUR]);
    reader.close();
  });

  it('names a block that was made anew with other readings, which a check sum cannot find', () => {
    spoil(1, (bytes) => {
      const warmer = openBlock(bytes)
        .readings()
        .map((each) => ({ ...each, raw: 480 }));
      return encodeBlock(warmer);
    });
    expect(store.brokenBlocks().map(({ why }) => why)).toEqual(['it is not the one that was sealed']);
  });

  it.each([
    ['that is gone', 'DELETE FROM blocks WHERE id = 3', ['it is gone']],
    [
      'of which no fact tells',
      'INSERT INTO blocks SELECT 99, probe, epoch, hour_ms, 7, first_id, last_id, first_scan, last_scan, readings, bytes FROM blocks WHERE id = 3',
      ['no fact tells of it'],
    ],
    [
      'of which the store tells something else',
      'UPDATE blocks SET last_id = last_id + 1 WHERE id = 3',
      ['what the store says of it is not what it holds'],
    ],
    [
      'of another hour',
      'UPDATE blocks SET hour_ms = hour_ms + 36000000 WHERE id = 3',
      ['no fact tells of it', 'it is gone'],
    ],
  ])('names a block %s', (_name, change, why) => {
    const sqlite = openSqlite(path(), 'write');
    sqlite.exec(change);
    sqlite.close();
    expect(store.brokenBlocks().map((each) => each.why)).toEqual(why);
  });
});
