import { readPageHead, scansPerPage, type ToldByHead } from '../carrier/wire/logPage.js';
import type { PageHead } from '../store/logShelf.js';

/** A moment by a board's own reckoning. */
export interface BoardMoment {
  readonly boot: number;
  readonly boardMs: number;
}

export const inBoardTime = (a: BoardMoment, b: BoardMoment): number =>
  a.boot - b.boot || a.boardMs - b.boardMs;

interface Head extends ToldByHead {
  readonly boot: number;
  readonly page: number;
}

/** What a board's log shows of its clock between two moments. */
export interface ClockGoesOn {
  /** Whether it was not set. */
  isUnset(from: BoardMoment, to: BoardMoment): boolean;
  /** Whether all settings would be told: no page that may tell of one is missing. */
  isAllTold(from: BoardMoment, to: BoardMoment): boolean;
}

/** A comparison of a board's clock with a host's. */
export interface Compared extends BoardMoment {
  /** Null when the clock knew no time. */
  readonly differenceMs: number | null;
}

/**
 * A board whose clock is set writes a table page before its next scan, but not when that is before the first scan that a boot
 * logs: then its first page tells the new time, as if nothing had been. So neither may a page be missing, nor a boot in
 * between have begun with a host that nobody here knows of. Pure.
 *
 * @param pages the beginnings of the pages that are here, in the order of boots and numbers
 * @param heardAt the board time of a boot's first line that was heard, null when none was
 * @param compared comparisons that are on record, in order
 * @param isWhole whether all of the log is here, but for pages that could not be read
 * @param hostedMs the period of its scans with a host; 0 when they are as many alone
 */
export function clockGoesOn(
  pages: readonly PageHead[],
  heardAt: (boot: number) => number | null,
  compared: readonly Compared[],
  isWhole: boolean,
  hostedMs: number,
): ClockGoesOn {
  const heads = pages.map(({ boot, page, head }): Head => ({ boot, page, ...readPageHead(head) }));
  const isUnbroken = isWhole ? withoutHoleIn(heads) : unbrokenIn(heads);
  const visited = bootsBegunWithHost(heads, hostedMs).filter(({ boot, boardMs }) => {
    const heard = heardAt(boot);
    return heard === null || heard > boardMs;
  });
  const settings = settingsIn(heads, compared);
  const isAllTold = (from: BoardMoment, to: BoardMoment) =>
    isUnbroken(from, to) && !visited.some(({ boot }) => boot > from.boot && boot <= to.boot);
  return {
    isAllTold,
    isUnset: (from, to) =>
      isAllTold(from, to) && !settings.some((setting) => overlaps(setting, { from, to })),
  };
}

interface Span {
  readonly from: BoardMoment;
  readonly to: BoardMoment;
}

const overlaps = (a: Span, b: Span): boolean =>
  inBoardTime(a.from, b.to) < 0 && inBoardTime(b.from, a.to) < 0;

/**
 * When the clock was set in mid-boot: between two scans, where a table page lies that tells of no other probes. A logger
 * compares the clock before it sets it and after.
 */
function settingsIn(heads: readonly Head[], compared: readonly Compared[]): Span[] {
  return heads.slice(1).flatMap((table, index): Span[] => {
    const before = heads[index]!;
    const isOfSetting =
      table.kind === 'table' &&
      before.kind === 'scans' &&
      before.boot === table.boot &&
      before.table === table.table;
    if (!isOfSetting) return [];
    // The table is written when the scan is over that begins the page after it.
    const next = heads[index + 2];
    const isNext = next !== undefined && next.boot === table.boot && next.boardMs < table.boardMs;
    const span = { from: endOf(before), to: beginOf(isNext ? next : table) };
    const within = compared.filter(
      (each) => inBoardTime(span.from, each) < 0 && inBoardTime(each, span.to) < 0,
    );
    const from = within.findLast(({ differenceMs }) => mustBeSet(differenceMs)) ?? span.from;
    const to = within.find((each) => inBoardTime(each, from) > 0) ?? span.to;
    return [{ from, to }];
  });
}

/** A logger sets a clock that is further off, or knows no time. */
const mustBeSet = (differenceMs: number | null): boolean =>
  differenceMs === null || Math.abs(differenceMs) > SET_FROM_MS;

/** A comparison takes the middle of the second that the clock tells, and a logger the second itself (`CLOCK_OFF_MS`). */
const SET_FROM_MS = 1000;

/**
 * Boots whose first page of scans is as quick as with a host, or quicker than others are, with when that page begins. Both: a
 * board may never have been alone while it wrote these pages, and it may have been set to other periods since.
 */
function bootsBegunWithHost(heads: readonly Head[], hostedMs: number): BoardMoment[] {
  const scans = heads.filter(({ kind }) => kind === 'scans');
  const alone = Math.max(0, ...scans.map(({ periodMs }) => periodMs));
  const firsts = new Map<number, Head>();
  for (const page of scans) {
    const first = firsts.get(page.boot);
    if (first === undefined || page.boardMs < first.boardMs) firsts.set(page.boot, page);
  }
  return [...firsts.values()].filter(({ periodMs }) => periodMs < alone || periodMs <= hostedMs);
}

type IsUnbroken = (from: BoardMoment, to: BoardMoment) => boolean;

const beginOf = ({ boot, boardMs }: Head): BoardMoment => ({ boot, boardMs });
const endOf = ({ boot, lastMs }: Head): BoardMoment => ({ boot, boardMs: lastMs });

/**
 * Whether no page that tells of a setting can be missing between two pages: none is, or all that are must be full of scans,
 * for the scans that are missing would have had no room otherwise.
 */
function isFollowedBy(before: Head, after: Head): boolean {
  const missing = after.page - before.page - 1;
  if (missing === 0) return true;
  if (missing < 0 || before.boot !== after.boot || before.table !== after.table) return false;
  const scans = after.firstScan - before.firstScan - before.scans;
  return scans > (missing - 1) * scansPerPage(before.probes);
}

/** Of all of a log: whether no hole lies between two moments. */
function withoutHoleIn(heads: readonly Head[]): IsUnbroken {
  const holes = heads.slice(1).flatMap((after, index) => {
    const before = heads[index]!;
    return isFollowedBy(before, after) ? [] : [{ from: endOf(before), to: beginOf(after) }];
  });
  return (from, to) => !holes.some((hole) => overlaps(hole, { from, to }));
}

/** Of a part of a log: whether what is here reaches from the first moment to the second. */
function unbrokenIn(heads: readonly Head[]): IsUnbroken {
  const runs: { readonly from: BoardMoment; to: BoardMoment }[] = [];
  for (const [index, head] of heads.entries()) {
    const before = heads[index - 1];
    if (before !== undefined && isFollowedBy(before, head)) {
      runs.at(-1)!.to = endOf(head);
      continue;
    }
    // The first page of a boot's log: its second scan is the first that is logged, and a page of it comes before.
    const isFirst = head.kind === 'table' && head.firstScan <= FIRST_LOGGED_SCAN;
    runs.push({ from: isFirst ? { boot: head.boot, boardMs: 0 } : beginOf(head), to: endOf(head) });
  }
  return (from, to) => runs.some((run) => inBoardTime(run.from, from) <= 0 && inBoardTime(to, run.to) <= 0);
}

const FIRST_LOGGED_SCAN = 2;
