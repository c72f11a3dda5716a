import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { stateOf } from '../../src/carrier/wire/logPage.js';
import { openSqlite } from '../../src/store/sqlite.js';
import { openStoreToWrite, type Store } from '../../src/store/store.js';
import { parseBoardId } from '../../src/units/ids.js';
import { boardMs, utcMs } from '../../src/units/time.js';
import { eachInNewFolder } from '../tools/newFolder.js';

const board = parseBoardId('0A1B2C3D')!;
/** A page of scans of one probe: kind in byte 7, boot in 8, scans in 18 (docs/wire-protocol.md); the rest tells logs apart. */
const bytes = (boot: number, scans = 1, rest = 0) =>
  new Uint8Array(128).fill(0x21, 7, 8).fill(boot, 8, 9).fill(scans, 18, 19).fill(rest, 20);
const keep = (store: Store, boot: number, page: number, scans = 1, rest = 0, isOfRam = false) =>
  store.keepPage(board, { boot, page, bytes: bytes(boot, scans, rest) }, stateOf, isOfRam);
const NOW = utcMs(1_778_587_200_000);
let path: string;
eachInNewFolder((folder) => {
  path = join(folder, 'x.sqlite');
});
const open = () => openStoreToWrite(path, NOW);

describe('logShelf()', () => {
  it('keeps pages as they were sent, and a later state of one in place of the earlier', () => {
    const store = open();
    keep(store, 1, 7, 1);
    store.markRead(board, 1, { log: 0, page: 7 }, 1);
    keep(store, 1, 7, 1);
    expect(store.unreadBoots(board)).toEqual([]);
    keep(store, 1, 7, 2);
    expect(store.unreadBoots(board)).toEqual([1]);
    expect(store.unreadPages()).toEqual(new Map([[board, 1]]));
    expect(store.pagesOf(board, 1)).toEqual([{ boot: 1, page: 7, bytes: bytes(1, 2) }]);
    // What an earlier state tells is there.
    keep(store, 1, 7, 1);
    expect(store.pagesOf(board, 1)).toEqual([{ boot: 1, page: 7, bytes: bytes(1, 2) }]);
    // The same number after the board's log began anew, in another boot.
    keep(store, 3, 7);
    expect(store.pagesOf(board, 1)).toHaveLength(1);
    expect(store.pageNumbers(board)).toEqual([7]);
    store.close();
  });

  it('keeps a different page of the same boot and number beside the first, and each state of both', () => {
    const store = open();
    expect(keep(store, 1, 7, 5, 0xaa)).toBe(false);
    expect(keep(store, 1, 7, 2, 0xbb)).toBe(true);
    expect(keep(store, 1, 7, 4, 0xbb)).toBe(false);
    expect(keep(store, 1, 7, 5, 0xaa)).toBe(false);
    expect(keep(store, 1, 7, 3, 0xcc, true)).toBe(false);
    expect(store.pagesOf(board, 1).map((page) => [page.bytes[18], page.bytes[20]])).toEqual([
      [3, 0xcc],
      [5, 0xaa],
      [4, 0xbb],
    ]);
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
    keep(store, 1, 1);
    expect(store.pageNumbers(board)).toEqual([1]);
    expect(store.head().count).toBe(1);
    expect(store.brokenAt()).toBeNull();
    store.close();
  });
});

describe('keptLogs()', () => {
  /** Keeps pages, given as boot and numbers, and gives the parts, the latest first. */
  function parts(from: number, upTo: number, ...kept: [boot: number, ...pages: number[]][]) {
    const store = open();
    for (const [boot, ...pages] of kept) for (const page of pages) keep(store, boot, page);
    const logs = store.keptLogs(board, from, upTo);
    store.close();
    return logs.map(({ pages, last }) => [...pages, `boot ${last[8]}`]);
  }

  it('goes on over all boots, within the numbers asked for', () => {
    expect(parts(1, 9)).toEqual([]);
    expect(parts(1, 9, [1, 1, 2, 3], [2, 4, 5], [4, 6])).toEqual([[1, 2, 3, 4, 5, 6, 'boot 4']]);
    expect(parts(2, 5, [1, 1])).toEqual([[2, 3, 4, 5, 'boot 2']]);
  });

  it('is in two parts where a page is missing, or an earlier boot has a number that a later one began again with', () => {
    expect(parts(1, 9, [1, 1, 2], [2, 4, 5])).toEqual([
      [4, 5, 'boot 2'],
      [1, 2, 'boot 1'],
    ]);
    expect(parts(1, 9, [3, 3, 4], [4, 1, 2])).toEqual([
      [1, 2, 'boot 4'],
      [3, 4, 'boot 3'],
      [4, 5, 'boot 2'],
      [1, 2, 'boot 1'],
    ]);
  });

  it('does not take thirty pages of one memory and a later one of another for one log', () => {
    const thirty = Array.from({ length: 30 }, (_, index) => index + 1);
    expect(parts(1, 99, [1, ...thirty], [4, 71])).toEqual([
      [71, 'boot 4'],
      [...thirty, 'boot 1'],
    ]);
  });

  it('knows the logs of a boot apart, and none of RAM', () => {
    const store = open();
    for (const page of [1, 2, 3]) keep(store, 1, page, 1, 0xaa);
    for (const page of [1, 2]) keep(store, 1, page, 1, 0xbb);
    for (const page of [1, 2, 3, 4]) keep(store, 2, page, 1, 0xcc, true);
    expect(store.keptLogs(board, 1, 9).map(({ pages, last }) => [...pages, last[20]])).toEqual([
      [1, 2, 0xbb],
      [1, 2, 3, 0xaa],
    ]);
    store.close();
  });
});
