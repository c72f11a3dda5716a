import { readPageHead } from '../carrier/wire/logPage.js';
import type { PageHead } from '../store/logShelf.js';

/** A moment by a board's own reckoning. */
export interface BoardMoment {
  readonly boot: number;
  readonly boardMs: number;
}

export const inBoardTime = (a: BoardMoment, b: BoardMoment): number =>
  a.boot - b.boot || a.boardMs - b.boardMs;

/** Whether a board's clock was not set from the first moment to the second, as far as its log can show. */
export type ClockGoesOn = (from: BoardMoment, to: BoardMoment) => boolean;

interface Run {
  readonly from: BoardMoment;
  to: BoardMoment;
  last: number;
}

/**
 * A board whose clock is set says so on a page, but not when that is before the first scan that a boot logs: then its first
 * page tells the new time, as if nothing had been. So neither may a page be missing, nor a boot in between have begun with a
 * host that nobody here knows of. Pure.
 *
 * @param heads the beginnings of the pages that are here, in the order of boots and numbers
 * @param heardAt the board time of a boot's first line that was heard, null when none was
 * @param isWhole whether no page is missing
 */
export function clockGoesOn(
  heads: readonly PageHead[],
  heardAt: (boot: number) => number | null,
  isWhole: boolean,
): ClockGoesOn {
  const isUnbroken = isWhole ? () => true : unbrokenIn(heads);
  const visited = bootsBegunWithHost(heads).filter(({ boot, boardMs }) => {
    const heard = heardAt(boot);
    return heard === null || heard > boardMs;
  });
  return (from, to) =>
    isUnbroken(from, to) && !visited.some(({ boot }) => boot > from.boot && boot <= to.boot);
}

/** Boots whose first page of scans is quicker than the board's pages are when it is alone, with when that page begins. */
function bootsBegunWithHost(heads: readonly PageHead[]): BoardMoment[] {
  const scans = heads.flatMap(({ boot, head }) => {
    const page = readPageHead(head);
    return page.kind === 'scans' ? [{ boot, ...page }] : [];
  });
  const alone = Math.max(0, ...scans.map(({ periodMs }) => periodMs));
  const firsts = new Map<number, (typeof scans)[number]>();
  for (const page of scans) {
    const first = firsts.get(page.boot);
    if (first === undefined || page.boardMs < first.boardMs) firsts.set(page.boot, page);
  }
  return [...firsts.values()].filter(({ periodMs }) => periodMs < alone);
}

type IsUnbroken = (from: BoardMoment, to: BoardMoment) => boolean;

/** Whether no page is missing from the first moment to the second. */
function unbrokenIn(heads: readonly PageHead[]): IsUnbroken {
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
