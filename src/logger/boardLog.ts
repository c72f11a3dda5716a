import type { MarkEvent } from '../carrier/events.js';
import { type BootEvidence, type Placement, PROVEN_WITHIN, placeBoots } from '../exposure/bootPlacement.js';
import { bestPace } from '../exposure/pace.js';
import type { Fact } from '../store/facts.js';
import type { Store } from '../store/store.js';
import type { BoardId } from '../units/ids.js';
import { type BoardMs, boardMs, durationMs, later, type UtcMs, utcMs } from '../units/time.js';
import { type BoardHistory, boardHistory } from './boardHistory.js';
import { type Evidence, evidenceOf, heardPairs, type LivePair, WITHIN_SECOND } from './bootEvidence.js';
import { type BootLog, logOf, type PageOfScans, tableOf } from './bootPages.js';
import { clockGoesOn } from './clockGoesOn.js';
import { toldBeforeSettings } from './clockWasSet.js';
import { isShared, ownPages } from './ownPages.js';
import { canBeTaken, NOTHING_ADDED, type PlacedBoot, scanCounts, takePage, together } from './scanPages.js';

/** What reading a board's log came to. */
export interface Taken {
  /** Readings that were not here before. */
  readonly readings: number;
  /** How many more there are now that nothing proves the time of; negative when some were proven. */
  readonly unplaced: number;
  /** Scans whose probes nobody knows, because their table was lost: kept as pages only. */
  readonly homelessScans: number;
  /** Whether there is more to read: the next call goes on. */
  readonly isPart?: true;
}

/** What a person should know of a log that did not come whole, in one sentence. */
export const notWhole = (board: BoardId, pages: number, { readings, unplaced }: Taken): string =>
  `board ${board}: not all of its log has come; ${
    readings > 0
      ? `${readings} readings were read from the ${pages} page${pages === 1 ? '' : 's'} that are here`
      : `the ${pages} page${pages === 1 ? '' : 's'} that are here were read before`
  }${unplaced > 0 ? `, ${unplaced} of them kept and not used, for nothing that is here proves their times` : ''}: connect it again, or sync it`;

export const NOTHING_TAKEN: Taken = { readings: 0, unplaced: 0, homelessScans: 0 };

export const takenTogether = (one: Taken, next: Taken): Taken => ({
  readings: one.readings + next.readings,
  unplaced: one.unplaced + next.unplaced,
  homelessScans: one.homelessScans + next.homelessScans,
  ...(next.isPart ? { isPart: true } : {}),
});

/** So many pages are read at a time while boards talk: what they say meanwhile has to wait, and a page has up to 72 readings. */
export const PAGES_AT_ONCE = 64;

/** Reads the pages that a store keeps of boards into readings, once each, at the times that can be proven. Not inside a transaction. */
export interface BoardLog {
  /**
   * @param isWhole whether all of the board's log is here; if not, its pages count as unread until it is
   * @param most so many pages are read, no more: the next call goes on where this one ends, with what was known at the first
   */
  takeIn(
    board: BoardId,
    live: LivePair | null,
    marks: readonly MarkEvent[],
    now: UtcMs,
    isWhole: boolean,
    most?: number,
  ): Taken;
  /** Reads what is kept of boards whose logs did not come whole, without the boards. */
  takeInKept(now: UtcMs): ReadonlyMap<BoardId, Taken>;
}

/** A boot whose pages are being read. */
interface BootToRead extends PlacedBoot {
  /** Those that are not read yet, in the order in which they were begun. */
  readonly pages: PageOfScans[];
  added: typeof NOTHING_ADDED;
}

/** A reading of a board's log that is under way. */
interface Round {
  readonly board: BoardId;
  readonly now: UtcMs;
  readonly isWhole: boolean;
  readonly boots: BootToRead[];
  /** What is to be noted of pages once what they gave is written. */
  readonly read: (() => void)[];
}

export function boardLog(store: Store): BoardLog {
  const history = boardHistory(store);
  const counts = scanCounts(store);
  /** Boots of which readings were added, which is not on record yet. */
  const owed = new Set<string>();
  let round: Round | null = null;

  const begin = (
    wanted: ReadonlySet<number>,
    board: BoardId,
    live: LivePair | null,
    marks: readonly MarkEvent[],
    now: UtcMs,
    isWhole: boolean,
  ): Round => {
    const first = Math.min(...wanted);
    const since = history.lastComparedBefore(board, first) ?? first;
    const isMemoryShared = isShared(board, store.tableHeads(board));
    const pages = ownPages(board, store.pageEnds(board, since), isMemoryShared);
    const pressed = marks.map(({ markBoot, markMs, sets }) => ({ boot: markBoot, boardMs: markMs, sets }));
    const goesOn = clockGoesOn(pages, [...history.comparedIn(board), ...pressed]);
    const logs = new Map([...wanted].map((boot) => [boot, logOf(store, board, boot, isMemoryShared)]));
    const order = neighbourhood(store.bootsOf(board), wanted);
    const measured = store.bootsOf(board).filter((boot) => !history.isAtOdds(board, boot));
    const known = bestPace(measured.map((boot) => heardPairs(store, board, boot)));
    const evidence = order.map((boot): Evidence => {
      const log = logs.get(boot) ?? null;
      return evidenceOf({ ...{ store, history, board, boot, log, live, marks, known, goesOn } });
    });
    const placements = placeBoots(evidence, now, known);
    const told = [...logs].flatMap(([boot, log]) => {
      const placement = placements.get(boot);
      const isCompared = (at: BoardMs) => history.isCompared(board, { boot, boardMs: at }, goesOn);
      return placement ? toldBeforeSettings(board, boot, log, placement, isCompared) : [];
    });
    const onRecord = history.disproved(board);
    const disproved = [...evidence.flatMap((each) => each.disproved), ...told].filter(
      ({ boot, boardMs: at }) => !onRecord.some((other) => other.boot === boot && other.boardMs === at),
    );
    store.append(now, ...disproved);
    store.append(now, ...marks.flatMap((mark) => markFact(history, board, mark, placements, live, now)));
    const boots = [...logs].map(([boot, log]): BootToRead => {
      const placement = placements.get(boot) ?? null;
      const guess = guessFor(evidence, placements, boot, log, now);
      const placed: PlacedBoot = { store, history, board, boot, log, placement, guess };
      return {
        ...placed,
        pages: [...log.scans, ...log.unowned].filter((page) => canBeTaken(placed, page)),
        added: NOTHING_ADDED,
      };
    });
    const before = boots.filter(({ log }) =>
      [...log.scans, ...log.unowned, ...log.others].some(({ state }) => state < 0),
    );
    const read = isWhole
      ? before.map(
          ({ boot }) =>
            () =>
              store.markWhole(board, boot),
        )
      : [];
    return { board, now, isWhole, boots, read };
  };

  /** Reads on; a boot whose last page was read leaves the list, and goes on record. */
  const goOn = ({ board, now, isWhole, boots, read }: Round, most: number): Taken => {
    let [taken, left] = [NOTHING_TAKEN, most];
    while (left > 0 && boots[0] !== undefined) {
      const boot = boots[0];
      const key = `${board} ${boot.boot}`;
      for (const page of boot.pages.splice(0, left)) {
        left -= 1;
        const { state, ...added } = takePage(boot, page, counts.added);
        boot.added = together(boot.added, added);
        taken = takenTogether(taken, added);
        const is = isWhole || state === 0 ? state : (-state as typeof state);
        if (is !== page.state) read.push(() => store.markRead(board, boot.boot, page, is));
        if (added.scans > 0) owed.add(key);
      }
      if (boot.pages.length > 0) break;
      // What a logger that was killed had added is on record in the end, too.
      const isNew = history.bootRead(board, boot.boot) ?? history.firstHeard(board, boot.boot);
      const scans = owed.has(key) || isNew === null ? counts.of(board, boot.boot) : 0;
      store.append(now, ...factsOf(boot, scans));
      const is = isWhole ? 1 : -1;
      for (const other of boot.log.others)
        if (other.state === 0) read.push(() => store.markRead(board, boot.boot, other, is));
      owed.delete(key);
      boots.shift();
      history.refresh();
    }
    return boots.length > 0 ? { ...taken, isPart: true } : taken;
  };

  const takeIn: BoardLog['takeIn'] = (board, live, marks, now, isWhole, most = Number.POSITIVE_INFINITY) => {
    const isSame = round?.board === board && round.isWhole === isWhole && marks.length === 0;
    const under = isSame ? round : null;
    // Should anything fail, the next call begins anew.
    round = null;
    const wanted = new Set<number>();
    if (under === null) {
      history.refresh();
      const boots = [...store.unreadBoots(board), ...store.waitingBoots(board)];
      for (const boot of [...boots, ...marks.map(({ markBoot }) => markBoot)]) wanted.add(boot);
      // A boot that was not heard long enough for a scan is placed by this; of no weight until it is read.
      if (live !== null) store.unsynced(() => store.keepHeard(board, live.boot, live.boardMs, live.utc));
      if (wanted.size === 0) return NOTHING_TAKEN;
    }
    const [present, taken] = store.transaction(() => {
      const on = under ?? begin(wanted, board, live, marks, now, isWhole);
      return [on, goOn(on, most)] as const;
    });
    // What was just read is there by now; if this is lost, the pages are read once more and give nothing new.
    const read = present.read.splice(0);
    if (read.length > 0) store.unsynced(() => read.forEach((mark) => void mark()));
    if (taken.isPart) {
      round = present;
      return taken;
    }
    // Pages that came meanwhile are none of these.
    const isMore = under !== null && isWhole && store.unreadBoots(board).length > 0;
    return isMore ? { ...taken, isPart: true } : taken;
  };
  return {
    takeIn,
    takeInKept: (now) =>
      new Map(
        [...store.unreadPages().keys()].map((board) => {
          let taken = takeIn(board, null, [], now, false, PAGES_AT_ONCE);
          while (taken.isPart)
            taken = takenTogether(taken, takeIn(board, null, [], now, false, PAGES_AT_ONCE));
          return [board, taken];
        }),
      ),
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

/** @param scans how many of the boot there are; 0 when none was added */
function factsOf({ history, board, boot, log, placement, guess }: PlacedBoot, scans: number): Fact[] {
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
  const last = log.scans.at(-1)?.lastMs ?? boardMs(0);
  const within =
    placement === null
      ? null
      : Math.ceil(Math.max(placement.at(boardMs(0)).within, placement.at(last).within));
  const isProven = placement !== null && within !== null && within <= PROVEN_WITHIN;
  const provenBy = isProven ? placement.provenBy : 'nothing';
  if (scans > 0 && (before === null || before.provenBy !== provenBy || before.scans !== scans))
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
