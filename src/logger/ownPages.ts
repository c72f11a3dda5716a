import { boardOfTable, readPageHead, type ToldByHead } from '../carrier/wire/logPage.js';
import type { BoardId } from '../units/ids.js';

/** A page by its beginning, as far as a table page tells of its board, and where it lay. */
export interface KeptPage {
  readonly boot: number;
  /** Below 0 for pages of RAM. */
  readonly log: number;
  readonly page: number;
  readonly head: Uint8Array;
}

/** Whether a board's memory was in another board: it holds a table that says so. */
export const isShared = (board: BoardId, tables: readonly Uint8Array[]): boolean =>
  tables.some((head) => boardOfTable(head) !== board);

/** Who wrote a page; `unknown` until the pages between it and a table are here. */
export type Owner = 'own' | 'other' | 'unknown';

/**
 * Who wrote each of some pages. Of a memory that was in another board, whose pages may have the same boots and numbers, tables say
 * whose they are, and scans are whose they go on from without a hole.
 *
 * @param pages in the order of boots, logs and numbers
 */
export function ownersOf<Page extends KeptPage>(
  board: BoardId,
  pages: readonly Page[],
  isMemoryShared: boolean,
): ReadonlyMap<Page, Owner> {
  let before: { readonly page: Page; readonly told: ToldByHead; readonly owner: Owner } | null = null;
  return new Map(
    pages.map((page) => {
      const told = readPageHead(page.head);
      let owner: Owner = 'own';
      if (told.kind === 'table') owner = boardOfTable(page.head) === board ? 'own' : 'other';
      else if (isMemoryShared && page.log >= 0)
        owner = before !== null && goesOn(before.page, before.told, page, told) ? before.owner : 'unknown';
      before = { page, told, owner };
      return [page, owner] as const;
    }),
  );
}

/** Those of some pages that the board wrote for sure. */
export function ownPages<Page extends KeptPage>(
  board: BoardId,
  pages: readonly Page[],
  isMemoryShared: boolean,
): Page[] {
  const owners = ownersOf(board, pages, isMemoryShared);
  return pages.filter((page) => owners.get(page) === 'own');
}

const goesOn = (one: KeptPage, told: ToldByHead, next: KeptPage, toldNext: ToldByHead): boolean =>
  one.boot === next.boot &&
  one.log === next.log &&
  one.page + 1 === next.page &&
  told.table === toldNext.table &&
  told.firstScan + told.scans === toldNext.firstScan;
