import type { BoardId } from '../units/ids.js';
import type { BoardMs, UtcMs } from '../units/time.js';
import { sealedBlocks } from './sealedBlocks.js';
import type { Sqlite } from './sqlite.js';

/** A page of a board's log, as the board sent it. */
export interface StoredPage {
  readonly boot: number;
  readonly page: number;
  readonly bytes: Uint8Array;
}

/** What is kept of one log. */
export interface KeptLog {
  readonly pages: readonly number[];
  readonly last: Uint8Array;
}

/** What was taken over from boards that logged alone. */
export interface LogShelf {
  /** Keeps a page; a later, longer state of the page that was open takes the place of the earlier one. */
  keepPage(board: BoardId, page: StoredPage): void;
  /** The numbers of all pages kept of a board, in order. */
  pageNumbers(board: BoardId): number[];
  /**
   * Pages up to one number of the log that a board began last, in order, and the last of them as it was sent; null when there are none.
   * A board whose memory was replaced numbers its pages from 1 again, in a later boot.
   */
  latestLog(board: BoardId, upTo: number): KeptLog | null;
  pagesOf(board: BoardId, boot: number): StoredPage[];
  /** Boots with pages whose scans are not among the readings yet. */
  unreadBoots(board: BoardId): number[];
  markRead(board: BoardId, boot: number): void;
  /** Boots of which there are pages or readings, in order. */
  bootsOf(board: BoardId): number[];
  /** How many readings of each scan of a boot there are. */
  scansOf(board: BoardId, boot: number): Map<number, number>;
  /** When each scan of a boot was taken, in order; only those whose time is proven. */
  scanTimes(board: BoardId, boot: number): UtcMs[];
  /** Keeps that a host heard a scan of a boot as it was taken. */
  keepHeard(board: BoardId, boot: number, boardMs: BoardMs, utc: UtcMs): void;
  /** Board time and UTC of the first and the last scan of a boot that a host heard so; empty when none. */
  heardEnds(board: BoardId, boot: number): { readonly boardMs: BoardMs; readonly utc: UtcMs }[];
  /**
   * Labels anew what was heard of a boot from a board time on, scans and readings that are not sealed, with `zero` as the
   * instant at which its counter began: the first lines had come late. Ids stay.
   */
  relabel(board: BoardId, boot: number, from: BoardMs, zero: UtcMs): void;
  /** Removes the readings of a boot that are marked `unplaced`, to be added again with their times. */
  dropUnplaced(board: BoardId, boot: number): number;
}

/** The status of a reading that is kept and never used: nobody can prove when it was taken. */
export const UNPLACED = 'unplaced';

const EPOCH = '(SELECT id FROM epochs WHERE board = ? AND boot = ?)';

/** From the latest page back: numbers fall as boots do, until a page of an earlier boot has a number that was passed. */
function ofOneLog<Page extends { readonly boot: number; readonly page: number }>(
  rows: readonly Page[],
): Page[] {
  let [boot, lowest] = [rows[0]?.boot, Number.POSITIVE_INFINITY];
  let last = lowest;
  const isOther = (row: Page) => {
    if (row.boot !== boot) [boot, lowest] = [row.boot, last];
    last = row.page;
    return row.page >= lowest;
  };
  const end = rows.findIndex(isOther);
  return end < 0 ? [...rows] : rows.slice(0, end);
}

export function logShelf(sqlite: Sqlite): LogShelf {
  const sealed = sealedBlocks(sqlite);
  return {
    keepPage(board, { boot, page, bytes }) {
      sqlite.run(
        `INSERT INTO pages (board, boot, page, bytes, is_read) VALUES (?, ?, ?, ?, 0)
         ON CONFLICT (board, boot, page) DO UPDATE SET bytes = excluded.bytes, is_read = 0
         WHERE bytes <> excluded.bytes`,
        board,
        boot,
        page,
        bytes,
      );
    },
    pageNumbers: (board) =>
      sqlite
        .all<{ page: number }>('SELECT DISTINCT page FROM pages WHERE board = ? ORDER BY page', board)
        .map(({ page }) => page),
    latestLog: (board, upTo) =>
      sqlite.snapshot(() => {
        const rows = sqlite.all<{ boot: number; page: number }>(
          'SELECT boot, page FROM pages WHERE board = ? ORDER BY boot DESC, page DESC',
          board,
        );
        const pages = ofOneLog(rows).filter(({ page }) => page <= upTo);
        const last = pages[0];
        if (last === undefined) return null;
        const { bytes } = sqlite.get<{ bytes: ArrayBuffer }>(
          'SELECT bytes FROM pages WHERE board = ? AND boot = ? AND page = ?',
          board,
          last.boot,
          last.page,
        )!;
        return { pages: pages.map(({ page }) => page).reverse(), last: new Uint8Array(bytes) };
      }),
    pagesOf: (board, boot) =>
      sqlite
        .all<{ boot: number; page: number; bytes: ArrayBuffer }>(
          'SELECT boot, page, bytes FROM pages WHERE board = ? AND boot = ? ORDER BY page',
          board,
          boot,
        )
        .map(({ boot: number, page, bytes }) => ({ boot: number, page, bytes: new Uint8Array(bytes) })),
    unreadBoots: (board) =>
      sqlite
        .all<{ boot: number }>(
          'SELECT DISTINCT boot FROM pages WHERE board = ? AND is_read = 0 ORDER BY boot',
          board,
        )
        .map(({ boot }) => boot),
    markRead(board, boot) {
      sqlite.run('UPDATE pages SET is_read = 1 WHERE board = ? AND boot = ? AND is_read = 0', board, boot);
    },
    bootsOf: (board) =>
      sqlite
        .all<{ boot: number }>(
          'SELECT boot FROM pages WHERE board = ? UNION SELECT boot FROM epochs WHERE board = ? ORDER BY boot',
          board,
          board,
        )
        .map(({ boot }) => boot),
    scansOf: (board, boot) =>
      sqlite.snapshot(() => {
        const scans = new Map<number, number>();
        const add = (scan: number, readings: number) => scans.set(scan, (scans.get(scan) ?? 0) + readings);
        for (const block of sealed.ofBoot(board, boot)) for (const scan of block.column('scan')) add(scan, 1);
        for (const { scan, readings } of sqlite.all<{ scan: number; readings: number }>(
          `SELECT scan, COUNT(*) AS readings FROM readings WHERE epoch = ${EPOCH} GROUP BY scan`,
          board,
          boot,
        ))
          add(scan, readings);
        return scans;
      }),
    scanTimes: (board, boot) =>
      sqlite.snapshot(() => {
        const times = new Map<number, number>();
        const add = (scan: number, utc: number) => times.set(scan, Math.min(times.get(scan) ?? utc, utc));
        for (const block of sealed.ofBoot(board, boot)) {
          const utc = block.column('utc');
          for (const [index, scan] of block.column('scan').entries()) add(scan, utc[index]!);
        }
        for (const { scan, utc_ms } of sqlite.all<{ scan: number; utc_ms: number }>(
          `SELECT scan, MIN(utc_ms) AS utc_ms FROM readings WHERE epoch = ${EPOCH} AND status <> ? GROUP BY scan`,
          board,
          boot,
          UNPLACED,
        ))
          add(scan, utc_ms);
        return [...times].sort(([a], [b]) => a - b).map(([, utc]) => utc as UtcMs);
      }),
    keepHeard(board, boot, boardMs, utc) {
      sqlite.run(
        `INSERT INTO heard (board, boot, first_ms, first_utc_ms, last_ms, last_utc_ms) VALUES (?, ?, ?, ?, ?, ?)
         ON CONFLICT (board, boot) DO UPDATE SET last_ms = excluded.last_ms, last_utc_ms = excluded.last_utc_ms`,
        board,
        boot,
        boardMs,
        utc,
        boardMs,
        utc,
      );
    },
    heardEnds(board, boot) {
      const row = sqlite.get<{
        first_ms: number;
        first_utc_ms: number;
        last_ms: number;
        last_utc_ms: number;
      }>(
        'SELECT first_ms, first_utc_ms, last_ms, last_utc_ms FROM heard WHERE board = ? AND boot = ?',
        board,
        boot,
      );
      if (!row) return [];
      const first = { boardMs: row.first_ms as BoardMs, utc: row.first_utc_ms as UtcMs };
      const last = { boardMs: row.last_ms as BoardMs, utc: row.last_utc_ms as UtcMs };
      return first.boardMs === last.boardMs ? [first] : [first, last];
    },
    relabel(board, boot, from, zero) {
      sqlite.run(
        `UPDATE readings SET utc_ms = board_ms + ? WHERE epoch = ${EPOCH} AND board_ms >= ? AND status <> ?`,
        zero,
        board,
        boot,
        from,
        UNPLACED,
      );
      for (const end of ['first', 'last'])
        sqlite.run(
          `UPDATE heard SET ${end}_utc_ms = ${end}_ms + ? WHERE board = ? AND boot = ? AND ${end}_ms >= ?`,
          zero,
          board,
          boot,
          from,
        );
    },
    dropUnplaced: (board, boot) =>
      sqlite.run(`DELETE FROM readings WHERE epoch = ${EPOCH} AND status = ?`, board, boot, UNPLACED),
  };
}
