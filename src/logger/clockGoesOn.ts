import { PAGE_SETS_MODULUS, readPageHead, setsOfTable } from '../carrier/wire/logPage.js';
import type { PageEnds } from '../store/pageHeads.js';

/** A moment by a board's own reckoning. */
export interface BoardMoment {
  readonly boot: number;
  readonly boardMs: number;
}

export const inBoardTime = (a: BoardMoment, b: BoardMoment): number =>
  a.boot - b.boot || a.boardMs - b.boardMs;

/** What a board has told of its clock between two moments. */
export interface ClockGoesOn {
  /** Whether it was not set: the board counts how often it is, and told the same count of both. */
  isUnset(from: BoardMoment, to: BoardMoment): boolean;
}

/** A comparison of a board's clock with a host's, or a press of its button. */
export interface ToldOnce extends BoardMoment {
  /** How often the clock had been set, modulo 256; absent or null when the board does not tell. */
  readonly sets?: number | null | undefined;
}

/** From one moment to another, both included, the clock had been set so often; null when that cannot be said. */
interface Span {
  readonly from: BoardMoment;
  readonly to: BoardMoment;
  readonly sets: number | null;
}

const COUNT_MODULUS = 256;

/**
 * How often a clock was set is told in full at comparisons, by marks and on the table pages of the log, of which one comes before the first
 * scan after each setting, and modulo four on pages of scans. A moment between two that have the same count has it, too,
 * whatever is missing between them; 256 settings between two moments would be taken for none. Where firmware that does not
 * count told something in between, nothing is known. Pure.
 *
 * @param pages what is here of the board's own log
 * @param toldOnce comparisons that are on record, and marks
 */
export function clockGoesOn(pages: readonly PageEnds[], toldOnce: readonly ToldOnce[]): ClockGoesOn {
  const { tables, scans } = toldByPages(pages);
  const inFull = [...tables, ...toldOnce.map(toldThen)].sort(inOrder);
  const spans = [...inFull, ...scans.map((page) => completed(page, inFull))].sort(inOrder);
  const uncounted = inFull.filter(({ sets }) => sets === null);
  return {
    isUnset(from, to) {
      const sets = setsIn(spans, from);
      if (sets === null || sets !== setsIn(spans, to)) return false;
      const next = uncounted[firstAfter(uncounted, from)];
      return next === undefined || inBoardTime(next.from, to) > 0;
    },
  };
}

const inOrder = (a: Span, b: Span): number => inBoardTime(a.from, b.from) || inBoardTime(a.to, b.to);

const toldThen = ({ boot, boardMs, sets }: ToldOnce): Span => {
  const at = { boot, boardMs };
  return { from: at, to: at, sets: sets ?? null };
};

/** A page of scans, and what it tells of the count. */
interface ScansSpan extends Omit<Span, 'sets'> {
  readonly setsLow: number;
}

function toldByPages(pages: readonly PageEnds[]) {
  const tables: Span[] = [];
  const scans: ScansSpan[] = [];
  for (const { boot, head, last } of pages) {
    const { kind, setsLow, boardMs, lastMs } = readPageHead(head);
    const from = { boot, boardMs };
    if (kind === 'table') tables.push({ from, to: from, sets: setsOfTable(head, last) });
    else scans.push({ from, to: { boot, boardMs: lastMs }, setsLow });
  }
  return { tables, scans };
}

/**
 * The count of a page of scans: the one told while it was written, when that ends as the page's own does (its first scan may have
 * been begun before the clock was set); else the only one from the count told before it to the one told after it that does.
 */
function completed({ from, to, setsLow }: ScansSpan, inFull: readonly Span[]): Span {
  // What was told while its first scan was under way may be from before the setting after which the page was begun.
  const begun = { boot: from.boot, boardMs: Math.max(to.boardMs, from.boardMs + SCANNED_WITHIN_MS) };
  const next = firstAfter(inFull, begun);
  const before = inFull[next - 1];
  const isMeanwhile = before !== undefined && inBoardTime(from, before.from) <= 0;
  if (isMeanwhile && before.sets !== null && before.sets % PAGE_SETS_MODULUS === setsLow)
    return { from, to, sets: before.sets };
  const [earliest, latest] = [before?.sets ?? null, inFull[next]?.sets ?? null];
  if (earliest === null || latest === null) return { from, to, sets: null };
  const most = (latest - earliest + COUNT_MODULUS) % COUNT_MODULUS;
  const more = (setsLow - earliest + COUNT_MODULUS) % PAGE_SETS_MODULUS;
  const isOnly = more <= most && most < PAGE_SETS_MODULUS;
  return { from, to, sets: isOnly ? (earliest + more) % COUNT_MODULUS : null };
}

/** The index of the first span that begins after a moment. */
function firstAfter(spans: readonly Span[], moment: BoardMoment): number {
  let [low, high] = [0, spans.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (inBoardTime(spans[middle]!.from, moment) <= 0) low = middle + 1;
    else high = middle;
  }
  return low;
}

const isPoint = ({ from, to }: Span): boolean => inBoardTime(from, to) === 0;

/** The count at a moment: what was told then, else of the page of scans in which it lies, else of both its neighbours when they agree. */
function setsIn(spans: readonly Span[], moment: BoardMoment): number | null {
  const next = firstAfter(spans, moment);
  let index = next - 1;
  if (index >= 0 && isPoint(spans[index]!) && inBoardTime(spans[index]!.from, moment) === 0)
    return spans[index]!.sets;
  while (index >= 0 && isPoint(spans[index]!)) index -= 1;
  const page = spans[index];
  if (page === undefined || inBoardTime(moment, page.to) > 0) {
    const [before, after] = [spans[next - 1]?.sets ?? null, spans[next]?.sets ?? null];
    return before === after ? before : null;
  }
  // The page was begun when its first scan was over, and the clock may have been set meanwhile.
  const isFirstScan = inBoardTime(moment, page.from) === 0;
  const isBegun = moment.boardMs - page.from.boardMs > SCANNED_WITHIN_MS;
  return isFirstScan || isBegun || spans[index - 1]?.sets === page.sets ? page.sets : null;
}

/** No scan takes so long: a conversion, and sixteen probes read. */
const SCANNED_WITHIN_MS = 3000;
