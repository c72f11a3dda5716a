import { existsSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { openSqlite } from '../../src/store/sqlite.js';
import { openStoreToRead, openStoreToWrite } from '../../src/store/store.js';
import { copyBefore } from '../../src/store/upgrade.js';
import { parseBoardId } from '../../src/units/ids.js';
import { Refusal } from '../../src/units/refusal.js';
import { utcMs } from '../../src/units/time.js';
import { eachInNewFolder } from '../tools/newFolder.js';
import { NINE, romOf, scans } from './invented.js';

const NOW = NINE;

let folder: string;
let path: string;
eachInNewFolder((fresh) => {
  folder = fresh;
  path = join(folder, 'season.sqlite');
});

/** A store as version 2 wrote it, with five readings. */
function versionTwo(): void {
  const store = openStoreToWrite(path, NOW);
  store.addReadings(scans(1, 1, 5));
  store.close();
  const sqlite = openSqlite(path, 'write');
  sqlite.exec(`
    DROP TABLE mirror;
    DROP TABLE blocks;
    ALTER TABLE readings RENAME TO gone;
    DROP INDEX readings_by_probe;
    CREATE TABLE readings (
      id INTEGER PRIMARY KEY,
      epoch INTEGER NOT NULL REFERENCES epochs (id),
      scan INTEGER NOT NULL,
      slot_index INTEGER NOT NULL,
      probe INTEGER NOT NULL REFERENCES probes (id),
      board_ms INTEGER NOT NULL,
      utc_ms INTEGER NOT NULL,
      raw INTEGER,
      status TEXT NOT NULL,
      UNIQUE (epoch, scan, slot_index)
    ) STRICT;
    CREATE INDEX readings_by_probe ON readings (probe, utc_ms);
    INSERT INTO readings SELECT * FROM gone;
    DROP TABLE gone;
    PRAGMA user_version = 2;
  `);
  sqlite.close();
}

/** A store as version 3 wrote it, with five readings. */
function versionThree(): void {
  const store = openStoreToWrite(path, NOW);
  store.addReadings(scans(1, 1, 5));
  store.close();
  const sqlite = openSqlite(path, 'write');
  sqlite.exec('DROP TABLE blocks; PRAGMA user_version = 3;');
  sqlite.close();
}

/** A store as version 4 wrote it, with one fact. */
function versionFour(): void {
  openStoreToWrite(path, NOW).close();
  const sqlite = openSqlite(path, 'write');
  sqlite.exec(
    'DROP TABLE gathered_blocks; DROP TABLE gathered_facts; DROP TABLE gathered_chains; PRAGMA user_version = 4;',
  );
  sqlite.close();
}

/** A store as version 5 wrote it, with a page of a board's log. */
function versionFive(): void {
  openStoreToWrite(path, NOW).close();
  const sqlite = openSqlite(path, 'write');
  sqlite.exec(`
    DROP TABLE pages;
    CREATE TABLE pages (
      board TEXT NOT NULL,
      boot INTEGER NOT NULL,
      page INTEGER NOT NULL,
      bytes BLOB NOT NULL,
      is_read INTEGER NOT NULL,
      PRIMARY KEY (board, boot, page)
    ) STRICT;
    INSERT INTO pages VALUES ('0A1B2C3D', 4, 7, x'0102', 1), ('0A1B2C3D', 4, 8, x'03', 0);
    PRAGMA user_version = 5;
  `);
  sqlite.close();
}

/** The id that a reading gets after the newest one was removed. */
function idAfterRemoval(): number {
  const sqlite = openSqlite(path, 'write');
  sqlite.exec('DELETE FROM readings WHERE id = 5');
  sqlite.exec(
    "INSERT INTO readings (epoch, scan, slot_index, probe, board_ms, utc_ms, raw, status) VALUES (1, 9, 0, 1, 0, 0, 1, 'ok')",
  );
  const { id } = sqlite.get<{ id: number }>('SELECT MAX(id) AS id FROM readings')!;
  sqlite.close();
  return id;
}

describe('upgrade()', () => {
  it('keeps all a store holds, and a copy of it as it was', () => {
    versionTwo();
    const store = openStoreToWrite(path, NOW);
    expect(store.readingsAfter(0, 9).map(({ id, scan }) => [id, scan])).toEqual([
      [1, 1],
      [2, 2],
      [3, 3],
      [4, 4],
      [5, 5],
    ]);
    expect(store.brokenAt()).toBeNull();
    expect(store.mirror()).toBeNull();
    store.close();
    const copy = openSqlite(copyBefore(path, 2), 'read');
    expect(copy.get('PRAGMA user_version')).toEqual({ user_version: 2 });
    expect(copy.get('PRAGMA integrity_check')).toEqual({ integrity_check: 'ok' });
    expect(copy.all('SELECT id FROM readings')).toHaveLength(5);
    copy.close();
    const again = openStoreToWrite(path, NOW);
    expect(again.head().count).toBe(1);
    again.close();
  });

  it('never gives the number of a removed reading to another, as version 2 did', () => {
    versionTwo();
    expect(idAfterRemoval()).toBe(5);
    rmSync(path);
    versionTwo();
    openStoreToWrite(path, NOW).close();
    expect(idAfterRemoval()).toBe(6);
  });

  it('keeps the pages of version 5, and gives those of other memories a place beside them', () => {
    versionFive();
    const board = parseBoardId('0A1B2C3D')!;
    const reader = openStoreToRead(path);
    expect(reader.unreadPages()).toEqual(new Map([[board, 1]]));
    reader.close();
    const store = openStoreToWrite(path, NOW);
    expect(store.pagesOf(board, 4).map(({ page, bytes }) => [page, ...bytes])).toEqual([
      [7, 1, 2],
      [8, 3],
    ]);
    expect(store.unreadPages()).toEqual(new Map([[board, 1]]));
    expect(store.keepPage(board, { boot: 4, page: 7, bytes: Uint8Array.of(9) }, () => 'other')).toBe(true);
    expect(store.pagesOf(board, 4)).toHaveLength(3);
    store.close();
  });

  it('gives a store of version 3 a place for sealed blocks, and keeps its readings as rows until they are sealed', () => {
    versionThree();
    const reader = openStoreToRead(path);
    expect(reader.readingsAfter(0, 9)).toHaveLength(5);
    expect(reader.brokenBlocks()).toEqual([]);
    const store = openStoreToWrite(path, NOW);
    expect(store.readingsAfter(0, 9)).toHaveLength(5);
    expect(store.sealOldest(utcMs(NOW + 7_200_000), 5, NOW)).toMatchObject({ readings: 5 });
    expect(store.readingsAfter(0, 9).map(({ scan }) => scan)).toEqual([1, 2, 3, 4, 5]);
    // Who had it open before sees what was sealed meanwhile.
    expect(reader.readingsAfter(0, 9)).toHaveLength(5);
    expect(reader.readings(romOf(0), NOW, utcMs(NOW + 7_200_000))).toHaveLength(5);
    reader.close();
    store.close();
    const copy = openSqlite(copyBefore(path, 3), 'read');
    expect(copy.get('PRAGMA user_version')).toEqual({ user_version: 3 });
    expect(copy.all('SELECT id FROM readings')).toHaveLength(5);
    copy.close();
  });

  it('gives a store of version 4 a place for what is gathered', () => {
    versionFour();
    const reader = openStoreToRead(path);
    expect([reader.everyFact().length, reader.chains().length]).toEqual([1, 1]);
    expect(reader.provenReadings(romOf(0), NOW)).toEqual([]);
    expect(reader.track(romOf(0), NOW, utcMs(NOW + 1)).utc).toHaveLength(0);
    reader.close();
    const store = openStoreToWrite(path, NOW);
    expect(store.gatherChain('0123456789abcdef', [])).toBe(0);
    expect(store.chains().map(({ store: id }) => id)).toEqual([store.storeId(), '0123456789abcdef']);
    store.close();
    expect(existsSync(copyBefore(path, 4))).toBe(true);
  });

  it('leaves a store as it is when no copy of it can be made', () => {
    versionTwo();
    const nameTooLong = join(folder, `${'x'.repeat(244)}`);
    const sqlite = openSqlite(path, 'write');
    sqlite.run('VACUUM INTO ?', nameTooLong);
    sqlite.close();
    expect(() => openStoreToWrite(nameTooLong, NOW)).toThrow(Refusal);
    expect(() => openStoreToWrite(nameTooLong, NOW)).toThrow(
      /is of an earlier version and was left as it is, because no copy of it could be put beside it/,
    );
    const left = openSqlite(nameTooLong, 'read');
    expect(left.get('PRAGMA user_version')).toEqual({ user_version: 2 });
    left.close();
  });

  it('is not needed to read', () => {
    versionTwo();
    const store = openStoreToRead(path);
    expect(store.readingsAfter(0, 9)).toHaveLength(5);
    expect(store.mirror()).toBeNull();
    store.close();
    expect(existsSync(copyBefore(path, 2))).toBe(false);
  });

  it('is told once, with the place of the copy', () => {
    versionThree();
    const said: string[] = [];
    const tell = (sentence: string) => said.push(sentence);
    openStoreToWrite(path, NOW, tell).close();
    expect(said).toEqual([
      `${path} was of store version 3 and is of version 6 now; as it was, it lies in ${copyBefore(path, 3)}.`,
    ]);
    expect(existsSync(copyBefore(path, 3))).toBe(true);
    // Negative control: there is nothing to tell of a store that is up to date, or new.
    openStoreToWrite(path, NOW, tell).close();
    openStoreToWrite(join(folder, 'new.sqlite'), NOW, tell).close();
    expect(said).toHaveLength(1);
  });
});
