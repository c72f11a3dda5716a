import type { BoardId } from '../units/ids.js';
import type { Sqlite } from './sqlite.js';

/** The beginning of a page, as many bytes as come before the first probe on a table page, and its last one. */
export interface PageEnds extends PagePlace {
  readonly boot: number;
  readonly head: Uint8Array;
  readonly last: number;
}
/** Where a page of a boot lies. */
export interface PagePlace {
  readonly log: number;
  readonly page: number;
}
/**
 * What was made of a page: nothing, or what it tells is among the readings for good, or waits for its time to be proven, or for
 * somebody who knows its probes. Below 0 the same of one that was read before the rest of the log was here: it counts as unread.
 */
export type ReadState = 0 | 1 | 2 | 3 | -1 | -2 | -3;
export interface PlacedHead extends PagePlace {
  readonly head: Uint8Array;
  readonly state: ReadState;
}
/** As many bytes of a page as tell what kind it is and when it was begun, and on a table page whose. */
const HEAD_BYTES = 31;
/** Byte 8 of a table page in hexadecimal begins with one of these. */
const TABLE_DIGITS = '014589CD';

/** The beginnings of pages: what they are and when they were begun, without what is on them. */
export interface PageHeads {
  /** The ends of all pages kept of a board from a boot on, in the order of boots, memories and numbers. */
  pageEnds(board: BoardId, fromBoot: number): PageEnds[];
  /** The beginnings of all table pages kept of a board. */
  tableHeads(board: BoardId): Uint8Array[];
  /** The beginnings of all pages of a boot, those of RAM, too. */
  headsOf(board: BoardId, boot: number): PlacedHead[];
}

export const pageHeads = (sqlite: Sqlite): PageHeads => ({
  pageEnds: (board, fromBoot) =>
    sqlite
      .all<{ boot: number; log: number; page: number; head: ArrayBuffer; last: ArrayBuffer }>(
        `SELECT boot, log, page, substr(bytes, 1, ${HEAD_BYTES}) AS head, substr(bytes, -1) AS last FROM pages
           WHERE board = ? AND boot >= ? ORDER BY boot, log, page`,
        board,
        fromBoot,
      )
      .map(({ boot, log, page, head, last }) => ({
        ...{ boot, log, page },
        ...{ head: new Uint8Array(head), last: new Uint8Array(last)[0] ?? 0 },
      })),
  tableHeads: (board) =>
    sqlite
      .all<{ head: ArrayBuffer }>(
        `SELECT substr(bytes, 1, ${HEAD_BYTES}) AS head FROM pages
           WHERE board = ? AND instr('${TABLE_DIGITS}', substr(hex(substr(bytes, 8, 1)), 1, 1)) > 0`,
        board,
      )
      .map(({ head }) => new Uint8Array(head)),
  headsOf: (board, boot) =>
    sqlite
      .all<{ log: number; page: number; head: ArrayBuffer; is_read: ReadState }>(
        `SELECT log, page, substr(bytes, 1, ${HEAD_BYTES}) AS head, is_read FROM pages
           WHERE board = ? AND boot = ? ORDER BY log, page`,
        board,
        boot,
      )
      .map(({ log, page, head, is_read }) => ({ log, page, head: new Uint8Array(head), state: is_read })),
});
