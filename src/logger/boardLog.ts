import type { MarkEvent } from '../carrier/events.js';
import type { ScansPage } from '../carrier/wire/logPage.js';
import { type BootEvidence, type Placement, PROVEN_WITHIN, placeBoots } from '../exposure/bootPlacement.js';
import { bestPace } from '../exposure/pace.js';
import type { Fact } from '../store/facts.js';
import { UNPLACED } from '../store/logShelf.js';
import type { Store, StoredReading } from '../store/store.js';
import type { BoardId, RomId } from '../units/ids.js';
import { type BoardMs, boardMs, durationMs, later, type UtcMs, utcMs } from '../units/time.js';
import { type BoardHistory, boardHistory } from './boardHistory.js';
import {
  type BootLog,
  type ClockDisproved,
  type Evidence,
  evidenceOf,
  heardPairs,
  type LivePair,
  logOf,
  WITHIN_SECOND,
} from './bootEvidence.js';
import { type ClockGoesOn, clockGoesOn } from './clockGoesOn.js';

/** What reading a board's log came to. */
export interface Taken {
  /** Readings that were not here before. */
  readonly readings: number;
  /** How many more there are now that nothing proves the time of; negative when some were proven. */
  readonly unplaced: number;
  /** Scans whose probes nobody knows, because their table was lost: kept as pages only. */
  readonly homelessScans: number;
}

/** What a person should know of a log that did not come whole, in one sentence. */
export const notWhole = (board: BoardId, pages: number, { readings, unplaced }: Taken): string =>
  `board ${board}: not all of its log has come; ${
    readings > 0
      ? `${readings} readings were read from the ${pages} page${pages === 1 ? '' : 's'} that are here`
      : `the ${pages} page${pages === 1 ? '' : 's'} that are here were read before`
  }${unplaced > 0 ? `, ${unplaced} of them kept and not used, for their times are not proven without the rest` : ''}: connect it again, or sync it`;

export const NOTHING_TAKEN: Taken = { readings: 0, unplaced: 0, homelessScans: 0 };

/** Reads the pages that a store keeps of boards into readings, once each, at the times that can be proven. Not inside a transaction. */
export interface BoardLog {
  /**
   * @param isWhole whether all of the board's log is here: a page that is missing may tell that the clock was set, so that times
   *   before it prove nothing. What cannot be placed without it is kept as such, and read again when all is here.
   */
  takeIn(
    board: BoardId,
    live: LivePair | null,
    marks: readonly MarkEvent[],
    now: UtcMs,
    isWhole: boolean,
  ): Taken;
  /** Reads what is kept of boards whose logs did not come whole, without the boards. */
  takeInKept(now: UtcMs): ReadonlyMap<BoardId, Taken>;
}

export function boardLog(store: Store): BoardLog {
  const history = boardHistory(store);
  const takeBoots = (
    wanted: ReadonlySet<number>,
    board: BoardId,
    live: LivePair | null,
    marks: readonly MarkEvent[],
    now: UtcMs,
    isWhole: boolean,
  ): Taken => {
    const told = (boot: number) => history.firstHeard(board, boot)?.boardMs ?? null;
    const since = (boot: number) => clockGoesOn(store.pageHeads(board, boot), told, isWhole);
    const first = Math.min(...wanted);
    const [lately, ever] = [once(() => since(first)), once(() => since(0))];
    // What went before is looked into when a comparison from then may count.
    const goesOn: ClockGoesOn = (from, to) => (isWhole && from.boot >= first ? lately : ever)()(from, to);
    const logs = new Map([...wanted].map((boot) => [boot, logOf(store, board, boot)]));
    const order = neighbourhood(store.bootsOf(board), wanted);
    const known = bestPace(store.bootsOf(board).map((boot) => heardPairs(store, board, boot)));
    const evidence: Evidence[] = [];
    const disproved: ClockDisproved[] = [];
    // The last one first: a clock that was set in a boot was not right before because it was found right since.
    for (const boot of [...order].reverse()) {
      const log = logs.get(boot) ?? null;
      const each = evidenceOf({
        ...{ store, history, board, boot, log, live, marks, known, goesOn },
        found: disproved,
      });
      evidence.unshift(each);
      disproved.push(...each.disproved);
    }
    const placements = placeBoots(evidence, now, known);
    store.append(now, ...disproved);
    let taken = NOTHING_TAKEN;
    for (const [boot, log] of logs) {
      const guess = guessFor(evidence, placements, boot, log, now);
      const added = addScans(store, history, board, boot, log, placements.get(boot) ?? null, guess);
      store.append(
        now,
        ...factsOf(store, history, board, boot, log, placements.get(boot) ?? null, guess, added),
      );
      taken = {
        readings: taken.readings + added.readings,
        unplaced: taken.unplaced + added.unplaced,
        homelessScans: taken.homelessScans + added.homelessScans,
      };
    }
    history.refresh();
    store.append(now, ...marks.flatMap((mark) => markFact(history, board, mark, placements, live, now)));
    return taken;
  };
  const takeIn: BoardLog['takeIn'] = (board, live, marks, now, isWhole) => {
    history.refresh();
    const wanted = new Set([
      ...store.unreadBoots(board),
      ...history.unprovenBoots(board),
      ...marks.map(({ markBoot }) => markBoot),
    ]);
    // A boot that was not heard long enough for a scan is placed by this; of no weight until it is read.
    if (live !== null) store.unsynced(() => store.keepHeard(board, live.boot, live.boardMs, live.utc));
    if (wanted.size === 0) return NOTHING_TAKEN;
    const taken = store.transaction(() => takeBoots(wanted, board, live, marks, now, isWhole));
    // What was just read is there by now; if this is lost, the pages are read once more and give nothing new.
    if (isWhole) store.unsynced(() => wanted.forEach((boot) => void store.markRead(board, boot)));
    return taken;
  };
  return {
    takeIn,
    takeInKept: (now) =>
      new Map([...store.unreadPages().keys()].map((board) => [board, takeIn(board, null, [], now, false)])),
  };
}

/** A function that is called once, when first asked for what it gives. */
function once<T>(make: () => T): () => T {
  let made: { readonly is: T } | null = null;
  return () => {
    made ??= { is: make() };
    return made.is;
  };
}

/** The wanted boots and the ones next to them, in order. */
function neighbourhood(all: readonly number[], wanted: ReadonlySet<number>): number[] {
  const order = [...new Set([...all, ...wanted])].sort((a, b) => a - b);
  return order.filter(
    (boot, index) =>
      wanted.has(boot) || wanted.has(order[index - 1] ?? -1) || wanted.has(order[index + 1] ?? -1),
  );
}

/** Where a boot lay that nothing proves: by its own clock, else after the boot before it, else just now. */
function guessFor(
  evidence: readonly BootEvidence[],
  placements: ReadonlyMap<number, Placement>,
  boot: number,
  log: BootLog,
  now: UtcMs,
): (at: BoardMs) => UtcMs {
  const told = log.tables.find(({ utc }) => utc !== null);
  if (told?.utc != null) {
    const zero = later(told.utc, WITHIN_SECOND) - told.boardMs;
    return (at) => utcMs(zero + at);
  }
  const index = evidence.findIndex((each) => each.boot === boot);
  const before = evidence.slice(0, index).findLast((each) => placements.has(each.boot));
  const length = evidence[index]?.lastMs ?? 0;
  const zero = before ? placements.get(before.boot)!.at(before.lastMs).utc : now - length;
  return (at) => utcMs(Math.round(zero + at));
}

interface Added {
  readonly readings: number;
  readonly unplaced: number;
  readonly homelessScans: number;
  readonly scans: number;
}

function addScans(
  store: Store,
  history: BoardHistory,
  board: BoardId,
  boot: number,
  log: BootLog,
  placement: Placement | null,
  guess: (at: BoardMs) => UtcMs,
): Added {
  // What nothing proves stays as it is.
  const dropped = placement === null ? 0 : store.dropUnplaced(board, boot);
  const held = store.scansOf(board, boot);
  const readings: Omit<StoredReading, 'id'>[] = [];
  let homelessScans = 0;
  let scans = 0;
  for (const page of log.scans) {
    const roms = romsOf(history, board, log, page);
    for (const { scan, boardMs: at, values } of page.scans) {
      if ((held.get(scan) ?? 0) >= values.length) continue;
      if (roms === null) {
        homelessScans += 1;
        continue;
      }
      held.set(scan, values.length);
      scans += 1;
      const proven = placement?.at(at) ?? null;
      const isProven = proven !== null && proven.within <= PROVEN_WITHIN;
      for (const [slotIndex, value] of values.entries()) {
        const rom = roms.get(slotIndex);
        if (value === null || rom === undefined) continue;
        const status = isProven ? value.status : UNPLACED;
        const utc = proven?.utc ?? guess(at);
        readings.push({ rom, board, boot, scan, slotIndex, boardMs: at, utc, raw: value.raw, status });
      }
    }
  }
  store.addReadings(readings);
  return {
    readings: readings.length - dropped,
    unplaced: readings.filter(({ status }) => status === UNPLACED).length - dropped,
    homelessScans,
    scans,
  };
}

/** The probes of a page's table: from the table's own pages, else as a host once heard them; null when unknown. */
function romsOf(
  history: BoardHistory,
  board: BoardId,
  log: BootLog,
  { table, probes }: ScansPage,
): ReadonlyMap<number, RomId> | null {
  const roms = tableOf(log, table) ?? history.table(board, log.scans[0]!.boot, table);
  return roms !== null && roms.size === probes ? roms : null;
}

function tableOf(log: BootLog, table: number): ReadonlyMap<number, RomId> | null {
  const pages = log.tables.filter((page) => page.table === table);
  const roms = new Map(pages.flatMap((page) => page.roms.map(({ index, rom }) => [index, rom] as const)));
  return roms.size > 0 && roms.size === pages[0]!.probes ? roms : null;
}

function factsOf(
  store: Store,
  history: BoardHistory,
  board: BoardId,
  boot: number,
  log: BootLog,
  placement: Placement | null,
  guess: (at: BoardMs) => UtcMs,
  added: Added,
): Fact[] {
  const facts: Fact[] = [];
  const at = (time: BoardMs) => placement?.at(time).utc ?? guess(time);
  for (const number of new Set(log.tables.map(({ table }) => table))) {
    const roms = tableOf(log, number);
    if (roms === null || history.table(board, boot, number) !== null) continue;
    const probes = [...roms].sort(([a], [b]) => a - b).map(([index, rom]) => ({ index, rom }));
    const found = log.tables.find(({ table }) => table === number)!;
    facts.push({ type: 'probes-found', board, boot, table: number, probes, at: at(found.boardMs) });
  }
  const before = history.bootRead(board, boot);
  const last = log.scans.at(-1)?.scans.at(-1)?.boardMs ?? boardMs(0);
  const within =
    placement === null
      ? null
      : Math.ceil(Math.max(placement.at(boardMs(0)).within, placement.at(last).within));
  const isProven = placement !== null && within !== null && within <= PROVEN_WITHIN;
  const provenBy = isProven ? placement.provenBy : 'nothing';
  const scans = store.scansOf(board, boot).size;
  if (added.scans > 0 && (before === null || before.provenBy !== provenBy || before.scans !== scans))
    facts.push({
      type: 'boot-read',
      board,
      boot,
      resetCause: log.tables[0]?.resetCause ?? null,
      clock: log.tables[0]?.clock ?? null,
      scans,
      provenBy,
      withinMs: isProven ? within : null,
      at: at(boardMs(0)),
    });
  return facts;
}

function markFact(
  history: BoardHistory,
  board: BoardId,
  { markBoot, markMs, utc }: MarkEvent,
  placements: ReadonlyMap<number, Placement>,
  live: LivePair | null,
  now: UtcMs,
): Fact[] {
  const placed = placements.get(markBoot)?.at(markMs) ?? null;
  const isProven = placed !== null && placed.within <= PROVEN_WITHIN;
  const known = history.mark(board, markBoot, markMs);
  if (known === true || (known === false && !isProven)) return [];
  const guess =
    placed?.utc ??
    utc ??
    (live?.boot === markBoot ? later(live.utc, durationMs(markMs - live.boardMs)) : now);
  return [
    {
      type: 'mark-stamped',
      board,
      boot: markBoot,
      boardMs: markMs,
      isProven,
      at: isProven ? placed.utc : utcMs(Math.min(guess, now)),
    },
  ];
}
