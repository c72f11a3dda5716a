import { readPage, readScansHead, type ScansHead, type TablePage } from '../carrier/wire/logPage.js';
import type { PagePlace, ReadState } from '../store/logShelf.js';
import type { Store } from '../store/store.js';
import type { BoardId, RomId } from '../units/ids.js';
import { BOARD_MS_WRAP, type BoardMs, boardMs } from '../units/time.js';

/** A page of scans by its beginning: enough to know when it was written, so that old ones need not be read again. */
export interface PageOfScans extends ScansHead, PagePlace {
  readonly boardMs: BoardMs;
  readonly lastMs: BoardMs;
  readonly state: ReadState;
}

/** What the pages of one boot tell but for the scans themselves. */
export interface BootLog {
  /** In the order in which they were written, as the scans are. */
  readonly tables: readonly TablePage[];
  readonly scans: readonly PageOfScans[];
  /** Where tables lie, pages that cannot be understood, and those of another board. */
  readonly others: readonly (PagePlace & { readonly state: ReadState })[];
}

export function logOf(store: Store, board: BoardId, boot: number): BootLog {
  const log = {
    tables: [] as TablePage[],
    scans: [] as PageOfScans[],
    others: [] as (PagePlace & { state: ReadState })[],
  };
  // A memory that was in another board holds its pages, too, each run of them after a table that says so.
  let isOwn = true;
  let before: PagePlace | null = null;
  for (const { head, ...place } of store.headsOf(board, boot)) {
    if (before?.log !== place.log) isOwn = true;
    before = place;
    const told = readScansHead(head);
    if (told !== null && !isOwn) {
      log.others.push(place);
      continue;
    }
    if (told !== null) {
      const lastMs = boardMs(told.lastMs % BOARD_MS_WRAP);
      log.scans.push({ ...told, ...place, boardMs: boardMs(told.boardMs), lastMs });
      continue;
    }
    const page = readPage(store.pageAt(board, boot, place)!);
    if (page?.kind === 'table') isOwn = page.board === board;
    if (page?.kind === 'table' && isOwn) log.tables.push(page);
    log.others.push(place);
  }
  // Numbers of two memories tell no order.
  const inTime = (a: { boardMs: number }, b: { boardMs: number }) => a.boardMs - b.boardMs;
  log.tables.sort(inTime);
  log.scans.sort(inTime);
  return log;
}

/** Who sits where by a table's own pages; null when not all of them are here. */
export function tableOf(log: BootLog, table: number): ReadonlyMap<number, RomId> | null {
  const pages = log.tables.filter((page) => page.table === table);
  const roms = new Map(pages.flatMap((page) => page.roms.map(({ index, rom }) => [index, rom] as const)));
  return roms.size > 0 && roms.size === pages[0]!.probes ? roms : null;
}
