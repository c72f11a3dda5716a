import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { openSqlite } from '../../src/store/sqlite.js';
import { openStoreToWrite } from '../../src/store/store.js';
import { parseBoardId } from '../../src/units/ids.js';
import { boardMs, utcMs } from '../../src/units/time.js';

const board = parseBoardId('0A1B2C3D')!;
const bytes = (fill: number) => new Uint8Array(128).fill(fill);
const NOW = utcMs(1_778_587_200_000);
let folder: string;
let path: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'stillwarm-shelf-'));
  path = join(folder, 'x.sqlite');
});
afterEach(() => rmSync(folder, { recursive: true }));
const open = () => openStoreToWrite(path, NOW);

describe('logShelf()', () => {
  it('keeps pages as they were sent, and a later state of one in place of the earlier', () => {
    const store = open();
    store.keepPage(board, { boot: 1, page: 7, bytes: bytes(1) });
    store.markRead(board, 1);
    store.keepPage(board, { boot: 1, page: 7, bytes: bytes(1) });
    expect(store.unreadBoots(board)).toEqual([]);
    store.keepPage(board, { boot: 1, page: 7, bytes: bytes(2) });
    expect(store.unreadBoots(board)).toEqual([1]);
    expect(store.pagesOf(board, 1)).toEqual([{ boot: 1, page: 7, bytes: bytes(2) }]);
    // The same number after the board's log began anew, in another boot.
    store.keepPage(board, { boot: 3, page: 7, bytes: bytes(3) });
    expect(store.pagesOf(board, 1)).toHaveLength(1);
    expect(store.pageNumbers(board)).toEqual([7]);
    store.close();
  });

  it('keeps the first and the last scan that was heard of a boot', () => {
    const store = open();
    expect(store.heardEnds(board, 1)).toEqual([]);
    for (const at of [5, 6, 9]) store.keepHeard(board, 1, boardMs(at), utcMs(NOW + at));
    expect(store.heardEnds(board, 1)).toEqual([
      { boardMs: 5, utc: NOW + 5 },
      { boardMs: 9, utc: NOW + 9 },
    ]);
    store.close();
  });

  it('is added to a store of the version before it, whose facts stay', () => {
    open().close();
    const old = openSqlite(path, 'write');
    old.exec('DROP TABLE pages; DROP TABLE heard; PRAGMA user_version = 1;');
    old.close();
    const store = open();
    store.keepPage(board, { boot: 1, page: 1, bytes: bytes(1) });
    expect(store.pageNumbers(board)).toEqual([1]);
    expect(store.head().count).toBe(1);
    expect(store.brokenAt()).toBeNull();
    store.close();
  });
});

describe('latestLog()', () => {
  /** Keeps pages, given as boot and numbers, and gives the numbers that belong to the latest log. */
  function latest(upTo: number, ...kept: [boot: number, ...pages: number[]][]) {
    const store = open();
    for (const [boot, ...pages] of kept)
      for (const page of pages) store.keepPage(board, { boot, page, bytes: bytes(boot) });
    const log = store.latestLog(board, upTo);
    store.close();
    return log === null ? null : [...log.pages, `boot ${log.last[0]}`];
  }

  it('goes on over all boots, up to the page asked for', () => {
    expect(latest(9)).toBe(null);
    expect(latest(9, [2, 4, 5], [1, 1, 2, 3], [4, 6, 8])).toEqual([1, 2, 3, 4, 5, 6, 8, 'boot 4']);
    expect(latest(5, [1, 1])).toEqual([1, 2, 3, 4, 5, 'boot 2']);
  });

  it('ends where an earlier boot has a number that a later one began again with', () => {
    expect(latest(9, [1, 1, 2, 3], [3, 4, 5, 6], [4, 1, 2])).toEqual([1, 2, 'boot 4']);
  });

  it('holds nothing for sure below a page that is kept of two logs', () => {
    expect(latest(9, [3, 1, 2, 3], [4, 3])).toEqual([3, 'boot 4']);
    expect(latest(2)).toBe(null);
  });
});
