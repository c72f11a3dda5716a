import { readPageHead } from '../carrier/wire/logPage.js';
import type { PageHead } from '../store/logShelf.js';

/** A moment by a board's own reckoning. */
export interface BoardMoment {
  readonly boot: number;
  readonly boardMs: number;
}

export const inBoardTime = (a: BoardMoment, b: BoardMoment): number =>
  a.boot - b.boot || a.boardMs - b.boardMs;

/** Whether no page of a board's log is missing from the first moment to the second. */
export type IsUnbroken = (from: BoardMoment, to: BoardMoment) => boolean;

interface Run {
  readonly from: BoardMoment;
  to: BoardMoment;
  last: number;
}

/**
 * A board whose clock is set says so on a page, so that where none is missing it was not set. Pure.
 *
 * @param heads the beginnings of the pages that are here, in the order of boots and numbers
 */
export function unbrokenIn(heads: readonly PageHead[]): IsUnbroken {
  const runs: Run[] = [];
  for (const { boot, page, head } of heads) {
    const { kind, boardMs, lastMs, nextScan } = readPageHead(head);
    const run = runs.at(-1);
    if (run?.last === page - 1) {
      run.to = { boot, boardMs: lastMs };
      run.last = page;
      continue;
    }
    // The first page of a boot's log: its second scan is the first that is logged, and a page of it comes before.
    const isFirst = kind === 'table' && nextScan <= FIRST_LOGGED_SCAN;
    runs.push({ from: { boot, boardMs: isFirst ? 0 : boardMs }, to: { boot, boardMs: lastMs }, last: page });
  }
  return (from, to) => runs.some((run) => inBoardTime(run.from, from) <= 0 && inBoardTime(to, run.to) <= 0);
}

const FIRST_LOGGED_SCAN = 2;
