import { readdirSync, readlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'libsql';
import { afterEach, describe, expect, it, vi } from 'vitest';
import { openSqlite, type Sqlite, type SqlValue } from '../../src/store/sqlite.js';
import { eachInNewFolder } from '../tools/newFolder.js';

let folder: string;
let sqlite: Sqlite;
eachInNewFolder((fresh) => {
  folder = fresh;
  sqlite = openSqlite(join(folder, 'x.sqlite'), 'write');
  sqlite.exec('CREATE TABLE t (a, b)');
});
afterEach(() => {
  sqlite.close();
});

describe('openSqlite()', () => {
  it('writes durably: WAL and FULL are in force', () => {
    expect(sqlite.get('PRAGMA journal_mode')).toEqual({ journal_mode: 'wal' });
    expect(sqlite.get('PRAGMA synchronous')).toEqual({ synchronous: 2 });
  });

  it.each([[true], [undefined], [Number.NaN], [1n], [{}]])('refuses to bind %s', (value) => {
    expect(() => sqlite.run('INSERT INTO t VALUES (?, ?)', value as SqlValue, 1)).toThrow('cannot be stored');
    expect(sqlite.all('SELECT * FROM t')).toEqual([]);
  });

  it('refuses too few and too many values', () => {
    expect(() => sqlite.run('INSERT INTO t VALUES (?, ?)', 1)).toThrow('1 values for 2 placeholders');
    expect(() => sqlite.run('INSERT INTO t VALUES (?, ?)', 1, 2, 3)).toThrow('3 values for 2 placeholders');
  });

  it('keeps milliseconds since 1970 exact', () => {
    sqlite.run('INSERT INTO t VALUES (?, ?)', 1_778_587_200_123, null);
    expect(sqlite.get('SELECT a, b FROM t')).toEqual({ a: 1_778_587_200_123, b: null });
  });

  it('writes nothing after close()', () => {
    sqlite.close();
    expect(() => sqlite.run('INSERT INTO t VALUES (?, ?)', 1, 2)).toThrow('has been closed');
  });

  it('refuses a transaction that waits', () => {
    expect(() => sqlite.immediate(async () => sqlite.run('INSERT INTO t VALUES (?, ?)', 1, 2))).toThrow(
      'must not wait',
    );
    expect(sqlite.all('SELECT * FROM t')).toEqual([]);
  });

  it('is back at FULL after a transaction that was not synced, however that ended', () => {
    const level = () => sqlite.get<{ synchronous: number }>('PRAGMA synchronous')!.synchronous;
    // NORMAL 1, FULL 2 (sqlite.org/pragma.html#pragma_synchronous)
    const meanwhile = sqlite.unsynced(() => {
      sqlite.run('INSERT INTO t VALUES (?, ?)', 1, 2);
      return level();
    });
    expect(meanwhile).toBe(1);
    expect(level()).toBe(2);
    expect(() =>
      sqlite.unsynced(() => {
        sqlite.run('INSERT INTO t VALUES (?, ?)', 3, 4);
        throw new Error('given up');
      }),
    ).toThrow('given up');
    expect(level()).toBe(2);
    expect(sqlite.all('SELECT a FROM t')).toEqual([{ a: 1 }]);
  });

  it('begins nothing that is to be synced while it cannot be set back to FULL', () => {
    const { exec } = Database.prototype;
    let isFailing = true;
    // A fault that cannot be provoked: the driver sets the mode in memory.
    const spy = vi.spyOn(Database.prototype, 'exec').mockImplementation(function (
      this: Database.Database,
      sql,
    ) {
      if (isFailing && sql === 'PRAGMA synchronous = FULL') throw new Error('no memory');
      return exec.call(this, sql);
    });
    try {
      sqlite.settle();
      const { made } = sqlite.commits();
      sqlite.unsynced(() => sqlite.run('INSERT INTO t VALUES (?, ?)', 1, 2));
      const add = () => sqlite.run('INSERT INTO t VALUES (?, ?)', 3, 4);
      expect(() => sqlite.immediate(add)).toThrow('no memory');
      expect(add).toThrow('no memory');
      expect(() => sqlite.settle()).toThrow('no memory');
      expect(sqlite.commits()).toEqual({ made: made + 1, durable: made });
      expect(sqlite.all('SELECT a FROM t')).toEqual([{ a: 1 }]);
      isFailing = false;
      sqlite.immediate(add);
      expect(sqlite.get('PRAGMA synchronous')).toEqual({ synchronous: 2 });
      expect(sqlite.commits()).toEqual({ made: made + 2, durable: made + 2 });
    } finally {
      spy.mockRestore();
    }
  });

  it('syncs what is not synced on its own with the transaction that it is a part of', () => {
    const inside = sqlite.immediate(() =>
      sqlite.unsynced(() => sqlite.get<{ synchronous: number }>('PRAGMA synchronous')!.synchronous),
    );
    expect(inside).toBe(2);
  });

  it('knows which commits are durable: those up to the last that was synced and wrote something', () => {
    // What another process left when it was killed may not be on the disk yet.
    expect(sqlite.commits().durable).toBeLessThan(sqlite.commits().made);
    sqlite.settle();
    const { made } = sqlite.commits();
    expect(sqlite.commits()).toEqual({ made, durable: made });
    sqlite.settle();
    expect(sqlite.commits()).toEqual({ made, durable: made });

    sqlite.unsynced(() => sqlite.run('INSERT INTO t VALUES (?, ?)', 1, 2));
    const waiting = { made: made + 1, durable: made };
    expect(sqlite.commits()).toEqual(waiting);
    // None of these writes anything, so that none is synced.
    sqlite.immediate(() => sqlite.run('UPDATE t SET b = ? WHERE a = ?', 3, 77));
    sqlite.immediate(() => sqlite.all('SELECT a FROM t'));
    expect(() =>
      sqlite.immediate(() => {
        sqlite.run('INSERT INTO t VALUES (?, ?)', 5, 6);
        throw new Error('given up');
      }),
    ).toThrow('given up');
    sqlite.unsynced(() => sqlite.all('SELECT a FROM t'));
    expect(sqlite.commits()).toEqual(waiting);
    sqlite.immediate(() => sqlite.run('UPDATE t SET b = b WHERE a = ?', 1));
    expect(sqlite.commits()).toEqual({ made: made + 2, durable: made + 2 });
  });

  it('syncs one of many that need not be, so that the write-ahead file can be taken into the database behind it', () => {
    sqlite.settle();
    const before = sqlite.commits();
    const beat = () => sqlite.unsynced(() => sqlite.run('INSERT INTO t VALUES (?, ?)', 1, 2));
    for (let beats = 0; beats < 1000; beats += 1) beat();
    expect(sqlite.commits()).toEqual({ made: before.made + 1000, durable: before.durable });
    beat();
    expect(sqlite.commits()).toEqual({ made: before.made + 1001, durable: before.made + 1001 });
  });

  it('refuses a file whose commits could not be durable', () => {
    // A database in memory has no write-ahead file (sqlite.org/wal.html).
    expect(() => openSqlite(':memory:', 'write')).toThrow(
      'commits would not be durable: journal_mode memory',
    );
  });

  it('puts the troubles of the file in words, with its name', () => {
    const folderless = join(folder, 'none', 'x.sqlite');
    expect(() => openSqlite(folderless, 'write')).toThrow(
      `${folderless} cannot be opened; check that its folder exists`,
    );
    const damaged = join(folder, 'damaged.sqlite');
    writeFileSync(damaged, 'x'.repeat(8192));
    expect(() => openSqlite(damaged, 'write')).toThrow(`${damaged} is damaged; keep the file as it is`);
    const reader = openSqlite(join(folder, 'x.sqlite'), 'read');
    expect(() => reader.run('INSERT INTO t VALUES (?, ?)', 1, 2)).toThrow(
      'cannot be written; check the permissions',
    );
    reader.close();
  });

  it('leaves no file open after close() without statements', () => {
    // The driver closes only what has no living statement; creating a store relies on that.
    const made = join(folder, 'made.sqlite');
    const creator = openSqlite(made, 'create');
    creator.immediate(() => creator.exec('CREATE TABLE t (a)'));
    creator.close();
    const open = readdirSync('/proc/self/fd').flatMap((fd) => {
      try {
        return [readlinkSync(`/proc/self/fd/${fd}`)];
      } catch {
        return [];
      }
    });
    expect(open.filter((file) => file.startsWith(made))).toEqual([]);
  });

  it('refuses every write of a reader', () => {
    const reader = openSqlite(join(folder, 'x.sqlite'), 'read');
    expect(() => reader.run('INSERT INTO t VALUES (?, ?)', 1, 2)).toThrow();
    reader.close();
  });
});
