/** Which pages of a board's log a host still lacks, and which it may acknowledge. Pure. */
export interface LogView {
  readonly oldest: number;
  /** The page that still grows; 0 when nothing was logged since the boot. */
  readonly open: number;
  /** The highest finished page that is known to exist; null when nobody knows yet. */
  readonly newest: number | null;
  /** Pages that are here. */
  readonly held: ReadonlySet<number>;
  /** Those among them that are not durable yet. */
  readonly waiting: ReadonlyMap<number, unknown>;
  /** How often a page was asked for in vain. */
  readonly tries: ReadonlyMap<number, number>;
}

export interface PageRun {
  readonly page: number;
  readonly count: number;
}

export interface AskedRun extends PageRun {
  readonly isOpenPage: boolean;
  /** Whether it is to show that the log is the one that is kept. */
  readonly isProof: boolean;
}

/** A page that did not come this often is given up: it is damaged where it lies. */
export const PAGE_TRIES_MAX = 3;
/** Pages asked for in one go, so that what has come is acknowledged along the way. */
export const RUN_MAX = 64;

const isLost = (view: LogView, page: number) => (view.tries.get(page) ?? 0) >= PAGE_TRIES_MAX;

/** The next pages to ask for; null when none is missing. */
export function missingRun(view: LogView): PageRun | null {
  const lacks = (page: number) => !view.held.has(page) && !isLost(view, page);
  const last = view.newest ?? Number.POSITIVE_INFINITY;
  let page = Math.max(view.oldest, 1);
  while (page <= last && !lacks(page)) page += 1;
  if (page > last) return null;
  let count = 1;
  while (count < RUN_MAX && page + count <= last && lacks(page + count)) count += 1;
  return { page, count };
}

/** Up to which page all are durable here or given up; null when the oldest is neither. */
export function acknowledgeable(view: LogView): number | null {
  let page = Math.max(view.oldest, 1);
  const last = view.newest ?? Number.POSITIVE_INFINITY;
  while (page <= last && !view.waiting.has(page) && (view.held.has(page) || isLost(view, page))) page += 1;
  return page > Math.max(view.oldest, 1) ? page - 1 : null;
}
