import { readPage } from '../carrier/wire/logPage.js';
import { type Placement, PROVEN_WITHIN } from '../exposure/bootPlacement.js';
import { UNPLACED } from '../store/logShelf.js';
import type { ReadState } from '../store/pageHeads.js';
import type { Store, StoredReading } from '../store/store.js';
import type { BoardId, RomId } from '../units/ids.js';
import { BOARD_MS_WRAP, type BoardMs, boardMs, type UtcMs } from '../units/time.js';
import type { BoardHistory } from './boardHistory.js';
import { type BootLog, type PageOfScans, tableOf } from './bootPages.js';

/** A boot with what is known of when it ran. */
export interface PlacedBoot {
  readonly store: Store;
  readonly history: BoardHistory;
  readonly board: BoardId;
  readonly boot: number;
  readonly log: BootLog;
  readonly placement: Placement | null;
  /** For what cannot be proven. */
  readonly guess: (at: BoardMs) => UtcMs;
}

/** What reading pages has come to; negative where readings were placed that could not be before. */
export interface Added {
  readonly readings: number;
  readonly unplaced: number;
  readonly homelessScans: number;
  /** Scans of which something was written. */
  readonly scans: number;
}
export const NOTHING_ADDED: Added = { readings: 0, unplaced: 0, homelessScans: 0, scans: 0 };
export const together = (one: Added, next: Added): Added => ({
  readings: one.readings + next.readings,
  unplaced: one.unplaced + next.unplaced,
  homelessScans: one.homelessScans + next.homelessScans,
  scans: one.scans + next.scans,
});

/**
 * Whether a page can tell anything that is not among the readings yet: it was not read, or what it waited for may be here.
 * One that waits for a proof of its time does so until one of its scans is proven, whatever else is learnt of the boot.
 */
export function canBeTaken(of: PlacedBoot, page: PageOfScans): boolean {
  if (page.state === 0) return true;
  const waitsFor = Math.abs(page.state);
  if (waitsFor === 1 || romsOf(of, page) === null) return false;
  return waitsFor === 3 || timesOf(page).some((at) => isProvenAt(of, at));
}

const timesOf = ({ boardMs: first, periodMs, scans }: PageOfScans): BoardMs[] =>
  Array.from({ length: scans }, (_, index) => boardMs((first + index * periodMs) % BOARD_MS_WRAP));

const isProvenAt = ({ placement }: PlacedBoot, at: BoardMs): boolean =>
  placement !== null && placement.at(at).within <= PROVEN_WITHIN;

/**
 * Reads one page into readings: those that are not there, and those whose times nothing proved so far and something does now.
 * All others stay as they are, also what remains without a proof: a guess at its time is no news.
 *
 * @param onNew told of each scan of which nothing was there
 */
export function takePage(
  of: PlacedBoot,
  page: PageOfScans,
  onNew: (board: BoardId, boot: number, scan: number) => void,
): Added & { readonly state: ReadState } {
  const { store, board, boot } = of;
  if (page.scans === 0) return { ...NOTHING_ADDED, state: 1 };
  const held = store.scansIn(board, boot, page.firstScan, page.firstScan + page.scans - 1);
  const proven = timesOf(page).map((at) => isProvenAt(of, at));
  const waits = (index: number) => (held.get(page.firstScan + index)?.unplaced ?? 0) > 0;
  // What is proven of it was placed before, and the rest is as it was.
  if (Math.abs(page.state) === 2 && held.size > 0 && proven.some(Boolean)) {
    const isAnyWaiting = proven.some((_, index) => waits(index));
    if (isAnyWaiting && !proven.some((is, index) => is && waits(index)))
      return { ...NOTHING_ADDED, state: 2 };
  }
  const bytes = store.pageAt(board, boot, page);
  const read = bytes === null ? null : readPage(bytes);
  if (read?.kind !== 'scans') return { ...NOTHING_ADDED, state: 1 };
  const roms = romsOf(of, page);
  const readings: Omit<StoredReading, 'id'>[] = [];
  let [dropped, scans, homelessScans, unplacedScans] = [0, 0, 0, 0];
  for (const [index, { scan, boardMs: at, values }] of read.scans.entries()) {
    const isProven = proven[index] ?? isProvenAt(of, at);
    const { readings: count, unplaced } = held.get(scan) ?? { readings: 0, unplaced: 0 };
    if (!isProven && unplaced > 0) unplacedScans += 1;
    if (count >= values.length && (unplaced === 0 || !isProven)) continue;
    if (roms === null) {
      homelessScans += 1;
      continue;
    }
    if (unplaced > 0 && isProven) dropped += store.dropUnplaced(board, boot, scan);
    const utc = of.placement?.at(at).utc ?? of.guess(at);
    let isAdded = false;
    for (const [slotIndex, value] of values.entries()) {
      const rom = roms.get(slotIndex);
      if (value === null || rom === undefined) continue;
      isAdded = true;
      const status = isProven ? value.status : UNPLACED;
      readings.push({ rom, board, boot, scan, slotIndex, boardMs: at, utc, raw: value.raw, status });
    }
    if (!isAdded) continue;
    scans += 1;
    if (count === 0) onNew(board, boot, scan);
    if (!isProven && unplaced === 0) unplacedScans += 1;
  }
  store.addReadings(readings);
  return {
    readings: readings.length - dropped,
    unplaced: readings.filter(({ status }) => status === UNPLACED).length - dropped,
    homelessScans,
    scans,
    state: roms === null && homelessScans > 0 ? 3 : unplacedScans > 0 ? 2 : 1,
  };
}

/** The probes of a page's table: from the table's own pages, else as a host once heard them; null when unknown. */
function romsOf(
  { log, history, board, boot }: PlacedBoot,
  { table, probes, isOwn }: PageOfScans,
): ReadonlyMap<number, RomId> | null {
  if (!isOwn) return null;
  const roms = tableOf(log, table) ?? history.table(board, boot, table);
  return roms !== null && roms.size === probes ? roms : null;
}

/** How many scans of a boot there are, counted once and then only what came since. */
export interface ScanCounts {
  added(board: BoardId, boot: number, scan: number): void;
  of(board: BoardId, boot: number): number;
}

export function scanCounts(store: Store): ScanCounts {
  const counts = new Map<string, { count: number; upTo: number }>();
  return {
    added(board, boot, scan) {
      const known = counts.get(`${board} ${boot}`);
      if (known !== undefined && scan <= known.upTo) known.count += 1;
    },
    of(board, boot) {
      const known = counts.get(`${board} ${boot}`) ?? { count: 0, upTo: -1 };
      const since = store.scansIn(board, boot, known.upTo + 1, Number.MAX_SAFE_INTEGER);
      const count = known.count + since.size;
      let { upTo } = known;
      for (const scan of since.keys()) upTo = Math.max(upTo, scan);
      counts.set(`${board} ${boot}`, { count, upTo });
      return count;
    },
  };
}
