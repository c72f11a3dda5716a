import { boardOfTable, readPageHead, type ToldByHead } from '../carrier/wire/logPage.js';
import type { BoardId } from '../units/ids.js';

/** A page by its beginning, as far as a table page tells of its board, and where it lay. */
export interface KeptPage {
  readonly boot: number;
  readonly log: number;
  readonly page: number;
  readonly head: Uint8Array;
}

/** Whether a board's memory was in another board: it holds a table that says so. */
export const isShared = (board: BoardId, tables: readonly Uint8Array[]): boolean =>
  tables.some((head) => boardOfTable(head) !== board);

/**
 * Those of some pages that a board wrote itself. Of a memory that was in another board, whose pages have the same boots and numbers
 * for all that is known, these are its own tables and the scans that go on from them without a hole.
 *
 * @param pages in the order of boots, logs and numbers
 */
export function ownPages<Page extends KeptPage>(
  board: BoardId,
  pages: readonly Page[],
  isMemoryShared: boolean,
): Page[] {
  if (!isMemoryShared) return [...pages];
  let before: { readonly page: Page; readonly told: ToldByHead } | null = null;
  return pages.filter((page) => {
    const told = readPageHead(page.head);
    const isOwn =
      told.kind === 'table'
        ? boardOfTable(page.head) === board
        : before !== null && goesOn(before.page, before.told, page, told);
    before = isOwn ? { page, told } : null;
    return isOwn;
  });
}

const goesOn = (one: KeptPage, told: ToldByHead, next: KeptPage, toldNext: ToldByHead): boolean =>
  one.boot === next.boot &&
  one.log === next.log &&
  one.page + 1 === next.page &&
  told.table === toldNext.table &&
  told.firstScan + told.scans === toldNext.firstScan;
