import type { BoardId } from '../units/ids.js';
import type { BoardMs, UtcMs } from '../units/time.js';
import { type PageHeads, type PagePlace, pageHeads, type ReadState } from './pageHeads.js';
import { hasTable } from './schema.js';
import { sealedBlocks } from './sealedBlocks.js';
import type { Sqlite } from './sqlite.js';

/** A page of a board's log, as the board sent it. */
export interface StoredPage {
  readonly boot: number;
  readonly page: number;
  readonly bytes: Uint8Array;
}

/** Pages in a row that are kept, and may be of one log. */
export interface KeptLog {
  /** In order, each one more than the one before. */
  readonly pages: readonly number[];
  /** The last of them as it was sent. */
  readonly last: Uint8Array;
}

/** What was taken over from boards that logged alone. */
export interface LogShelf extends PageHeads {
  /**
   * Keeps a page; a later state of one that is kept takes its place. A different page of the same boot and number, which is of
   * another memory, is kept beside the first. True when it is the first that is.
   *
   * @param stateOf what a page that comes is to one that is kept
   * @param isOfRam whether the board has it in RAM, where numbers are others than in its memory
   */
  keepPage(
    board: BoardId,
    page: StoredPage,
    stateOf: (kept: Uint8Array, come: Uint8Array) => 'kept' | 'later' | 'other',
    isOfRam?: boolean,
  ): boolean;
  /** The numbers of all pages kept of a board, in order. */
  pageNumbers(board: BoardId): number[];
  /**
   * What is kept of pages with numbers from `from` to `upTo`, the latest first, in parts without a hole each: any of them may
   * be of a log that the board no longer has, for one whose memory was replaced numbers its pages anew. Pages of RAM are none of these.
   */
  keptLogs(board: BoardId, from: number, upTo: number): KeptLog[];
  pagesOf(board: BoardId, boot: number): StoredPage[];
  /** A page as the board sent it; null when there is none. */
  pageAt(board: BoardId, boot: number, place: PagePlace): Uint8Array | null;
  /** Boots with pages that were not read into readings since all of the log had come. */
  unreadBoots(board: BoardId): number[];
  /** Boots with pages whose scans wait for a proof of their time, or for their probes. */
  waitingBoots(board: BoardId): number[];
  /** Whether there are such pages of a board's memory. */
  hasUnreadOfMemory(board: BoardId): boolean;
  /** How many such pages there are of each board. */
  unreadPages(): ReadonlyMap<BoardId, number>;
  markRead(board: BoardId, boot: number, place: PagePlace, state: ReadState): void;
  /** All of a board's log has come: what was read of a boot before counts as read. */
  markWhole(board: BoardId, boot: number): void;
  /** Boots of which there are pages or readings, in order. */
  bootsOf(board: BoardId): number[];
  /** How many readings of each scan of a boot there are. */
  scansOf(board: BoardId, boot: number): Map<number, number>;
  /** The same of scans from one to another, and how many readings of each are marked `unplaced`. */
  scansIn(
    board: BoardId,
    boot: number,
    from: number,
    to: number,
  ): Map<number, { readonly readings: number; readonly unplaced: number }>;
  /** When each scan of a boot was taken, in order; only those whose time is proven. */
  scanTimes(board: BoardId, boot: number): UtcMs[];
  /**
   * Keeps that a host heard a board at a time of a boot, as it scanned.
   *
   * @param isFirst whether what it heard of this boot before is to be forgotten: its clock was stepped since
   */
  keepHeard(board: BoardId, boot: number, boardMs: BoardMs, utc: UtcMs, isFirst?: boolean): void;
  /** Board time and UTC of the first and the last time of a boot that a host heard so; empty when none. */
  heardEnds(board: BoardId, boot: number): { readonly boardMs: BoardMs; readonly utc: UtcMs }[];
  /**
   * Labels anew what was heard of a boot from a board time on, scans and readings that are not sealed, with `zero` as the
   * instant at which its counter began: the first lines had come late. Ids stay.
   */
  relabel(board: BoardId, boot: number, from: BoardMs, zero: UtcMs): void;
  /** Removes the readings of a scan that are marked `unplaced`, to be added again with their time. */
  dropUnplaced(board: BoardId, boot: number, scan: number): number;
}

/** The status of a reading that is kept and never used: nobody can prove when it was taken. */
export const UNPLACED = 'unplaced';

const EPOCH = '(SELECT id FROM epochs WHERE board = ? AND boot = ?)';

/** From the latest page back, parts in which each has the number before. */
function withoutHoles<Page extends { readonly page: number }>(rows: readonly Page[]): Page[][] {
  const parts: Page[][] = [];
  for (const row of rows) {
    const part = parts.at(-1);
    if (part?.at(-1)?.page === row.page + 1) part.push(row);
    else parts.push([row]);
  }
  return parts;
}

export function logShelf(sqlite: Sqlite): LogShelf {
  const sealed = sealedBlocks(sqlite);
  return {
    ...pageHeads(sqlite),
    keepPage(board, { boot, page, bytes }, stateOf, isOfRam = false) {
      const kept = sqlite.all<{ log: number; bytes: ArrayBuffer }>(
        `SELECT log, bytes FROM pages
         WHERE board = ? AND boot = ? AND page = ? AND log ${isOfRam ? '<' : '>='} 0 ORDER BY abs(log)`,
        board,
        boot,
        page,
      );
      for (const each of kept) {
        const state = stateOf(new Uint8Array(each.bytes), bytes);
        if (state === 'later')
          sqlite.run(
            'UPDATE pages SET bytes = ?, is_read = 0 WHERE board = ? AND boot = ? AND log = ? AND page = ?',
            bytes,
            board,
            boot,
            each.log,
            page,
          );
        if (state !== 'other') return false;
      }
      sqlite.run(
        'INSERT INTO pages (board, boot, log, page, bytes, is_read) VALUES (?, ?, ?, ?, ?, 0)',
        board,
        boot,
        isOfRam ? -1 - kept.length : kept.length,
        page,
        bytes,
      );
      return kept.length > 0;
    },
    pageNumbers: (board) =>
      sqlite
        .all<{ page: number }>('SELECT DISTINCT page FROM pages WHERE board = ? ORDER BY page', board)
        .map(({ page }) => page),
    keptLogs: (board, from, upTo) =>
      sqlite.snapshot(() => {
        const rows = sqlite.all<{ boot: number; log: number; page: number }>(
          `SELECT boot, log, page FROM pages WHERE board = ? AND log >= 0 AND page BETWEEN ? AND ?
           ORDER BY boot DESC, log DESC, page DESC`,
          board,
          from,
          upTo,
        );
        return withoutHoles(rows).map((part): KeptLog => {
          const { boot, log, page } = part[0]!;
          const { bytes } = sqlite.get<{ bytes: ArrayBuffer }>(
            'SELECT bytes FROM pages WHERE board = ? AND boot = ? AND log = ? AND page = ?',
            board,
            boot,
            log,
            page,
          )!;
          return { pages: part.map((row) => row.page).reverse(), last: new Uint8Array(bytes) };
        });
      }),
    pageAt(board, boot, { log, page }) {
      const row = sqlite.get<{ bytes: ArrayBuffer }>(
        'SELECT bytes FROM pages WHERE board = ? AND boot = ? AND log = ? AND page = ?',
        board,
        boot,
        log,
        page,
      );
      return row === undefined ? null : new Uint8Array(row.bytes);
    },
    pagesOf: (board, boot) =>
      sqlite
        .all<{ boot: number; page: number; bytes: ArrayBuffer }>(
          'SELECT boot, page, bytes FROM pages WHERE board = ? AND boot = ? ORDER BY page, log',
          board,
          boot,
        )
        .map(({ boot: number, page, bytes }) => ({ boot: number, page, bytes: new Uint8Array(bytes) })),
    unreadBoots: (board) =>
      sqlite
        .all<{ boot: number }>(
          'SELECT DISTINCT boot FROM pages WHERE board = ? AND is_read <= 0 ORDER BY boot',
          board,
        )
        .map(({ boot }) => boot),
    waitingBoots: (board) =>
      sqlite
        .all<{ boot: number }>(
          'SELECT DISTINCT boot FROM pages WHERE board = ? AND abs(is_read) > 1 ORDER BY boot',
          board,
        )
        .map(({ boot }) => boot),
    hasUnreadOfMemory: (board) =>
      sqlite.get('SELECT 1 FROM pages WHERE board = ? AND log >= 0 AND is_read <= 0 LIMIT 1', board) !==
      undefined,
    unreadPages: () =>
      new Map(
        hasTable(sqlite, 'pages')
          ? sqlite
              .all<{ board: BoardId; pages: number }>(
                'SELECT board, COUNT(*) AS pages FROM pages WHERE is_read <= 0 GROUP BY board ORDER BY board',
              )
              .map(({ board, pages }) => [board, pages] as const)
          : [],
      ),
    markRead(board, boot, { log, page }, state) {
      sqlite.run(
        'UPDATE pages SET is_read = ? WHERE board = ? AND boot = ? AND log = ? AND page = ?',
        state,
        board,
        boot,
        log,
        page,
      );
    },
    markWhole(board, boot) {
      sqlite.run(
        'UPDATE pages SET is_read = -is_read WHERE board = ? AND boot = ? AND is_read < 0',
        board,
        boot,
      );
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
    scansIn: (board, boot, from, to) =>
      sqlite.snapshot(() => {
        const scans = new Map<number, { readings: number; unplaced: number }>();
        for (const row of sealed.aroundScan(board, boot, from, to))
          for (const scan of row.open()?.column('scan') ?? []) {
            if (scan < from || scan > to) continue;
            scans.set(scan, { readings: (scans.get(scan)?.readings ?? 0) + 1, unplaced: 0 });
          }
        for (const { scan, readings, unplaced } of sqlite.all<{
          scan: number;
          readings: number;
          unplaced: number;
        }>(
          `SELECT scan, COUNT(*) AS readings, SUM(status = ?) AS unplaced FROM readings
           WHERE epoch = ${EPOCH} AND scan BETWEEN ? AND ? GROUP BY scan`,
          UNPLACED,
          board,
          boot,
          from,
          to,
        ))
          scans.set(scan, { readings: (scans.get(scan)?.readings ?? 0) + readings, unplaced });
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
    keepHeard(board, boot, boardMs, utc, isFirst = false) {
      if (isFirst) sqlite.run('DELETE FROM heard WHERE board = ? AND boot = ?', board, boot);
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
    dropUnplaced: (board, boot, scan) =>
      sqlite.run(
        `DELETE FROM readings WHERE epoch = ${EPOCH} AND scan = ? AND status = ?`,
        board,
        boot,
        scan,
        UNPLACED,
      ),
  };
}
