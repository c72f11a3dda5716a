import { readPage, readScansHead, type ScansHead, type TablePage } from '../carrier/wire/logPage.js';
import type { PagePlace, ReadState } from '../store/pageHeads.js';
import type { Store } from '../store/store.js';
import type { BoardId, RomId } from '../units/ids.js';
import { BOARD_MS_WRAP, type BoardMs, boardMs } from '../units/time.js';
import { ownersOf } from './ownPages.js';

/** A page of scans by its beginning: enough to know when it was written, so that old ones need not be read again. */
export interface PageOfScans extends ScansHead, PagePlace {
  readonly boardMs: BoardMs;
  readonly lastMs: BoardMs;
  readonly state: ReadState;
  /** False when it may be another board's, whose memory this was: nothing is known of its probes then. */
  readonly isOwn: boolean;
}

/** What the pages of one boot tell but for the scans themselves. */
export interface BootLog {
  /** In the order in which they were written, as the scans are. */
  readonly tables: readonly TablePage[];
  readonly scans: readonly PageOfScans[];
  /** Pages of scans that may be another board's. */
  readonly unowned: readonly PageOfScans[];
  /** Where tables lie, pages that cannot be understood, and those of another board. */
  readonly others: readonly (PagePlace & { readonly state: ReadState })[];
}

/** @param isMemoryShared whether its memory holds pages of other boards, too: they are kept, and not read as its own */
export function logOf(store: Store, board: BoardId, boot: number, isMemoryShared: boolean): BootLog {
  const log = {
    tables: [] as TablePage[],
    scans: [] as PageOfScans[],
    unowned: [] as PageOfScans[],
    others: [] as (PagePlace & { state: ReadState })[],
  };
  const heads = store.headsOf(board, boot).map((each) => ({ ...each, boot }));
  const owners = ownersOf(board, heads, isMemoryShared);
  for (const each of heads) {
    const { head, boot: _, ...place } = each;
    const told = readScansHead(head);
    const owner = owners.get(each);
    if (owner === 'other') {
      log.others.push(place);
      continue;
    }
    if (told !== null) {
      const isOwn = owner === 'own';
      const lastMs = boardMs(told.lastMs % BOARD_MS_WRAP);
      const page = { ...told, ...place, boardMs: boardMs(told.boardMs), lastMs, isOwn };
      (isOwn ? log.scans : log.unowned).push(page);
      continue;
    }
    const page = readPage(store.pageAt(board, boot, place)!);
    if (page?.kind === 'table') log.tables.push(page);
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
