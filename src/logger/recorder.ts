import { BY_THE_LOGGER } from '../carrier/byteWire.js';
import {
  type BootEvent,
  type CarrierEvent,
  type ClockEvent,
  type LinkEvent,
  type LogPageEvent,
  type MarkEvent,
  type ProbesEvent,
  type ScanEvent,
  UNSAID,
  type WarningEvent,
} from '../carrier/events.js';
import { bootOfPage, stateOf } from '../carrier/wire/logPage.js';
import {
  type Anchor,
  boardToUtc,
  type Epoch,
  followEpoch,
  goOn,
  isSilence,
  startEpoch,
  unwrapped,
} from '../exposure/boardTime.js';
import { HOST_WITHIN } from '../exposure/bootPlacement.js';
import type { Fact } from '../store/facts.js';
import type { Store } from '../store/store.js';
import type { BoardId, CarrierId } from '../units/ids.js';
import { type BoardMs, boardMs, durationMs, later, monotonicMs, seconds, type UtcMs } from '../units/time.js';
import { inZone, localZone } from '../units/zone.js';
import { disprovedInWords } from '../visit/boardInWords.js';
import { boardHistory } from './boardHistory.js';
import { boardLog, NOTHING_TAKEN, notWhole, type Taken } from './boardLog.js';
import { WITHIN_SECOND } from './bootEvidence.js';
import { clockTeller } from './clockTeller.js';
import { discardCount } from './discardCount.js';
import type { Level } from './say.js';

/**
 * Writes what one source says into the store. Each call of `record` is one transaction: when it returns, everything in it
 * is durable, but for the count of what was discarded, and for pages of a board's log that come alone: the next scan makes
 * those durable (`commits` of the store tells), and until then the board keeps them, for nobody acknowledges them.
 */
export interface Recorder {
  /** Lines that were discarded are counted, and written with the next scan or after a minute; at once when there are no events. */
  record(events: readonly CarrierEvent[], now: UtcMs): void;
  /**
   * Reads the pages and marks that were recorded since the last call into readings and facts.
   *
   * @param isWhole whether all of the board's log is here; if not, what cannot be placed without the rest waits for it
   */
  takeInLog(now: UtcMs, isWhole: boolean): Taken;
  /** Records that a board could not give these pages of its log. */
  losePages(board: BoardId, first: number, last: number, now: UtcMs): void;
  /** After something could not be written: what it takes to be on record is read again from the store. */
  recollect(): void;
}

/** Something to be done inside a transaction. */
type Write = () => void;

/** Lateness of a boot's first lines that is worth a word, seconds. */
const TOLD_FROM_S = 1;
/** Steps of this computer's clock that come so soon after each other are one. */
const SAME_STEP = seconds(10);
/** A comparison of clocks is told again when it has changed by more than this. */
const CLOCK_NEWS_MS = 1500;

/**
 * @param anchor the host's two clocks at one instant, taken when the logger started
 * @param carrier the carrier that the board at the other end is built into, null when not told
 * @param say takes one sentence a call about what a person may want to know
 * @param who the person who told the carrier, null when that is not known
 */
export function recorder(
  store: Store,
  anchor: Anchor,
  carrier: CarrierId | null,
  say: (sentence: string, level?: Level) => void,
  who: string | null = null,
): Recorder {
  let session = anchor;
  let current: {
    board: BoardId;
    boot: number;
    epoch: Epoch;
    lastMs: BoardMs;
    /** Board time of the first line that was heard, and the largest offset by which scans were labelled since. */
    firstMs: BoardMs;
    labelledMs: number;
    /** Board time of the last scan. */
    scanMs: BoardMs;
    /** Whether this computer's clock was stopped or stepped since then: what was heard before and after tells no pace. */
    isMoved: boolean;
  } | null = null;
  /** The last step of this computer's clock, and the largest that was told of those that came with it. */
  let steppedAt = monotonicMs(Number.NEGATIVE_INFINITY);
  let toldStepMs = 0;
  let told = alreadyTold(store);
  let history = boardHistory(store);
  let log = boardLog(store);
  let heard: { board: BoardId; boot: number; boardMs: BoardMs; utc: UtcMs } | null = null;
  let marks: MarkEvent[] = [];
  /** Boards whose memory does not answer now, and those that gave a page of a number that another memory's has. */
  const withoutMemory = new Set<BoardId>();
  const withOther = new Set<BoardId>();
  const discards = discardCount(store);
  const clocks = clockTeller(say);
  /** Puts right in the store what was labelled late; kept until it is written. */
  let corrections: Write[] = [];

  /** Places a line in time and keeps the epoch up to date. */
  const place = (event: Extract<CarrierEvent, { boardMs: unknown }>): UtcMs => {
    const host = event.arrival.monotonic;
    const isSameBoot = current?.board === event.board && current.boot === event.bootCount;
    const lineTime = isSameBoot ? unwrapped(event.boardMs, current!.lastMs) : event.boardMs;
    if (current === null || current.board !== event.board || current.boot !== event.bootCount) {
      const epoch = startEpoch(lineTime, host);
      const { board, bootCount: boot } = event;
      const labelledMs = Number.NEGATIVE_INFINITY;
      current = {
        ...{ board, boot, epoch, lastMs: lineTime, firstMs: lineTime, labelledMs },
        ...{ scanMs: lineTime, isMoved: false },
      };
    } else if (follows(event.kind) || (event.kind !== 'scan' && isSilence(current.epoch, lineTime))) {
      const before = current.epoch;
      const step = followEpoch(before, lineTime, host);
      current.epoch = step.epoch;
      if (step.jumpMs !== 0) {
        // The host stood still or was stepped: shift its clock so that the board stays the ruler.
        session = { ...session, monotonic: monotonicMs(session.monotonic + step.jumpMs) };
        current.epoch = goOn(lineTime, host);
        current.labelledMs = Number.NEGATIVE_INFINITY;
        current.isMoved = true;
        // After a sleep the lines that were kept meanwhile come in one go; the largest step counts.
        const isSame = host - steppedAt < SAME_STEP && Math.abs(step.jumpMs) <= toldStepMs;
        steppedAt = host;
        toldStepMs = isSame ? toldStepMs : Math.abs(step.jumpMs);
        if (!isSame)
          say(
            `this computer's clock and the board's differ by ${Math.round(step.jumpMs / 1000)} s more than before (asleep?); the board's counts`,
            'warn',
          );
      } else {
        if (step.isAnew) beginAnew(current, before, lineTime);
        relabelLate(current, lineTime);
      }
    }
    current.lastMs = lineTime;
    const utc = boardToUtc(current.epoch, lineTime, session);
    heard = { board: event.board, boot: event.bootCount, boardMs: event.boardMs, utc };
    return utc;
  };

  /** Heard again: what the clocks ran apart by meanwhile shows from here on, and holds for a scan that came before this line, too. */
  const beginAnew = (now: NonNullable<typeof current>, before: Epoch, lineTime: BoardMs): void => {
    const { board, boot, epoch, scanMs } = now;
    now.labelledMs = Number.NEGATIVE_INFINITY;
    now.firstMs = lineTime;
    if (!isSilence(before, scanMs)) return;
    now.firstMs = scanMs;
    now.labelledMs = epoch.offsetMs;
    const zero = boardToUtc(epoch, boardMs(0), session);
    corrections.push(() => store.relabel(board, boot, scanMs, zero));
  };

  /** While an epoch settles: what was labelled by lines that had come late is labelled by the earliest. */
  const relabelLate = (now: NonNullable<typeof current>, lineTime: number): void => {
    const { board, boot, epoch, firstMs, labelledMs } = now;
    if (lineTime >= epoch.settlesUntilMs || labelledMs - epoch.offsetMs <= HOST_WITHIN) return;
    now.labelledMs = epoch.offsetMs;
    const zero = boardToUtc(epoch, boardMs(0), session);
    corrections.push(() => store.relabel(board, boot, firstMs, zero));
    const late = (labelledMs - epoch.offsetMs) / 1000;
    if (late >= TOLD_FROM_S)
      say(
        `the first lines of boot ${boot} of board ${board} came up to ${late.toFixed(1)} s late; the times of its first scans were put right`,
      );
  };

  /** The board's clock against this computer's: once a boot, and when it has changed. */
  const compareClocks = (event: ClockEvent): Fact[] => {
    const at = place(event);
    const differenceMs =
      event.clock === 'running' && event.utc !== null
        ? Math.round(later(event.utc, WITHIN_SECOND) - at)
        : null;
    clocks.compared(event, differenceMs);
    history.refresh();
    const last = history.lastCompared(event.board);
    if (last === null && differenceMs === null) return [];
    const isNews =
      last === null ||
      (last.differenceMs === null) !== (differenceMs === null) ||
      Math.abs((last.differenceMs ?? 0) - (differenceMs ?? 0)) > CLOCK_NEWS_MS;
    if (!isNews && history.wasComparedIn(event.board, event.bootCount)) return [];
    const { board, bootCount: boot, boardMs } = event;
    return [{ type: 'clock-compared', board, boot, boardMs, differenceMs, at }];
  };

  const warn = (event: WarningEvent): Fact[] => {
    say(
      `board ${event.board} warns: ${event.warning}${event.detail === 0 ? '' : ` (${event.detail})`}`,
      'warn',
    );
    const { board, bootCount: boot, warning, detail } = event;
    return [{ type: 'board-warned', board, boot, warning, detail, at: place(event) }];
  };

  // A board that is connected again says everything again: only what the store does not hold yet makes a fact.
  const bootFacts = (event: BootEvent): Fact[] => {
    const { board, bootCount: boot } = event;
    const at = place(event);
    const facts: Fact[] = [];
    const onRecord = carrierOf(store, board);
    if (carrier !== null && onRecord !== null && onRecord !== carrier)
      say(
        `board ${board} is built into carrier ${onRecord} on record, though its port was given to carrier ${carrier}; the record counts (carrier pair changes it)`,
        'warn',
      );
    else if (carrier !== null && told(`${carrier} ${board}`))
      facts.push({ type: 'board-bound', carrier, board, at });
    if (told(`${board} ${boot}`)) {
      const { resetCause, firmwareVersion: firmware, clock, boardMs } = event;
      say(`board ${board}: boot ${boot} (${resetCause}), firmware ${firmware}`);
      const bootedAt = later(at, durationMs(-boardMs));
      facts.push({ type: 'board-booted', board, boot, resetCause, firmware, clock, boardMs, at: bootedAt });
    }
    return facts;
  };

  const keepPage = ({ board, page, bytes }: LogPageEvent): Write => {
    const boot = bootOfPage(bytes);
    const isOfRam = withoutMemory.has(board);
    return () => {
      const isBeside = store.keepPage(board, { boot, page, bytes }, stateOf, isOfRam);
      if (!isBeside || withOther.has(board)) return;
      withOther.add(board);
      say(
        `board ${board}: page ${page} of boot ${boot} is another than the one kept under that number (its memory was replaced while it ran?); both are kept and read`,
        'warn',
      );
    };
  };

  const probeFacts = (event: ProbesEvent): Fact[] => {
    const { board, bootCount: boot, table } = event;
    const at = place(event);
    if (!told(`${board} ${boot} ${table}`)) return [];
    const probes = event.probes.map((probe) => ({ ...probe }));
    say(`board ${board}: ${probes.length} probe${probes.length === 1 ? '' : 's'} found`);
    return [{ type: 'probes-found', board, boot, table, probes, at }];
  };

  const signed = (fact: Fact): Fact =>
    fact.type === 'board-bound' && who !== null ? { ...fact, who: store.keepText(who) } : fact;

  const keepScan = (event: ScanEvent): Write => {
    const utc = place(event);
    const { board, bootCount: boot, scan, boardMs } = event;
    const now = current!;
    now.labelledMs = Math.max(now.labelledMs, now.epoch.offsetMs);
    now.scanMs = now.lastMs;
    const readings = event.readings.map(({ rom, index, raw, status }) => ({
      ...{ rom, board, boot, scan, slotIndex: index, boardMs, utc, raw, status },
    }));
    return () => {
      store.keepHeard(board, boot, boardMs, utc, now.isMoved);
      now.isMoved = false;
      store.addReadings(readings);
    };
  };

  /** Takes note of an event; gives what is to be written because of it, null when that is nothing. */
  const hear = (event: CarrierEvent, now: UtcMs): Write | null => {
    const append = (facts: readonly Fact[]): Write | null =>
      facts.length === 0 ? null : () => store.append(now, ...facts.map(signed));
    switch (event.kind) {
      case 'link':
        if (event.detail !== UNSAID) say(event.detail, levelOf(event));
        return null;
      case 'heartbeat':
        place(event);
        return null;
      case 'mark':
        marks.push(event);
        return null;
      case 'answer':
        clocks.answered(event, now);
        return null;
      case 'scan':
        return keepScan(event);
      case 'log-page':
        return keepPage(event);
      case 'log-state':
        if (event.store === 'ram') withoutMemory.add(event.board);
        else withoutMemory.delete(event.board);
        return null;
      case 'clock':
        return append(compareClocks(event));
      case 'warning':
        return append(warn(event));
      case 'boot':
        return append(bootFacts(event));
      case 'probes':
        return append(probeFacts(event));
      default:
        return null;
    }
  };

  return {
    record(events, now) {
      for (const event of events) if (event.kind === 'discarded') discards.add(event, now);
      const others = events.filter(({ kind }) => kind !== 'discarded');
      const isDue = discards.isDue(events, now);
      if (others.length === 0 && !isDue) return;
      const isPages = !isDue && others.every(({ kind }) => kind === 'log-page');
      const writes = isPages ? [] : [...corrections];
      if (isDue) writes.push(discards.write);
      for (const event of others) {
        const known = corrections.length;
        const write = hear(event, now);
        writes.push(...corrections.slice(known));
        if (write !== null) writes.push(write);
      }
      if (writes.length === 0) return;
      store[isPages ? 'unsynced' : 'transaction'](() => {
        for (const write of writes) write();
      });
      if (!isPages) corrections = [];
      if (isDue) discards.forget();
    },
    takeInLog(now, isWhole) {
      const at = heard;
      if (at === null) return NOTHING_TAKEN;
      // All that RAM has is not what a memory has that does not answer.
      isWhole &&= !withoutMemory.has(at.board) || !store.hasUnreadOfMemory(at.board);
      history.refresh();
      const known = history.disproved(at.board).length;
      const taken = log.takeIn(at.board, at, marks, now, isWhole);
      marks = [];
      history.refresh();
      for (const fact of history.disproved(at.board).slice(known))
        say(`board ${at.board}: ${disprovedInWords(fact, (time) => inZone(time, localZone()))}`, 'warn');
      const pages = isWhole ? 0 : (store.unreadPages().get(at.board) ?? 0);
      if (pages > 0) say(notWhole(at.board, pages, taken), 'warn');
      return taken;
    },
    losePages(board, first, last, now) {
      say(
        `board ${board}: page${first === last ? ` ${first}` : `s ${first} to ${last}`} of its log cannot be read`,
        'warn',
      );
      store.transaction(() => store.append(now, { type: 'pages-lost', board, first, last, at: now }));
    },
    recollect() {
      [told, history, log] = [alreadyTold(store), boardHistory(store), boardLog(store)];
    },
  };
}

/** Lines that are told as they are sent, each second: a scan's is of when it began. */
const follows = (kind: CarrierEvent['kind']): boolean => kind === 'heartbeat' || kind === 'probes';

/** Whatever takes a source away is worth a look, but for the end of the logger itself. */
const levelOf = ({ state, detail }: LinkEvent): Level =>
  state === 'open' || detail.endsWith(BY_THE_LOGGER) ? 'info' : 'warn';

/** The carrier that a board is built into, by what was recorded last; null when it never was. */
function carrierOf(store: Store, board: BoardId): CarrierId | null {
  const boards = new Map<CarrierId, BoardId>();
  for (const { fact } of store.facts()) if (fact.type === 'board-bound') boards.set(fact.carrier, fact.board);
  return [...boards].findLast(([, bound]) => bound === board)?.[0] ?? null;
}

/** A function that is true the first time it is asked about something the store's facts do not tell yet. */
function alreadyTold(store: Store): (what: string) => boolean {
  const bindings = new Map<string, string>();
  const known = new Set<string>();
  for (const { fact } of store.facts()) {
    if (fact.type === 'board-bound') bindings.set(fact.carrier, fact.board);
    if (fact.type === 'board-booted') known.add(`${fact.board} ${fact.boot}`);
    if (fact.type === 'probes-found') known.add(`${fact.board} ${fact.boot} ${fact.table}`);
  }
  for (const [carrier, board] of bindings) known.add(`${carrier} ${board}`);
  return (what) => {
    if (known.has(what)) return false;
    known.add(what);
    return true;
  };
}
