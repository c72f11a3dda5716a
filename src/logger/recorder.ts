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
import { HEARS_FROM, TELLS_SETS_FROM } from '../carrier/wire/frames.js';
import { bootOfPage, readPage, stateOf } from '../carrier/wire/logPage.js';
import type { Anchor } from '../exposure/boardTime.js';
import type { Fact } from '../store/facts.js';
import type { Store } from '../store/store.js';
import type { BoardId, CarrierId } from '../units/ids.js';
import { durationMs, later, type UtcMs } from '../units/time.js';
import { inZone, localZone } from '../units/zone.js';
import { disprovedInWords } from '../visit/boardInWords.js';
import { boardHistory, isRight } from './boardHistory.js';
import { boardLog, NOTHING_TAKEN, notWhole, type Taken, takenTogether } from './boardLog.js';
import { WITHIN_SECOND } from './bootEvidence.js';
import { clockTeller } from './clockTeller.js';
import { discardCount } from './discardCount.js';
import { lineTimes, type Write } from './lineTimes.js';
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
   * @param isWhole whether all of the board's log is here; if not, its pages count as unread until it is
   * @param most so many pages are read, no more: the next call goes on
   */
  takeInLog(now: UtcMs, isWhole: boolean, most?: number): Taken;
  /** Records that a board could not give these pages of its log. */
  losePages(board: BoardId, first: number, last: number, now: UtcMs): void;
  /** After something could not be written: what it takes to be on record is read again from the store. */
  recollect(): void;
}

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
  let told = alreadyTold(store);
  let history = boardHistory(store);
  let log = boardLog(store);
  let marks: MarkEvent[] = [];
  /** What reading a log that takes several calls has come to. */
  let sofar = NOTHING_TAKEN;
  /** Boards whose memory does not answer now, and those that gave a page of a number that another memory's has. */
  const withoutMemory = new Set<BoardId>();
  const withOther = new Set<BoardId>();
  /** Boards whose memories hold pages of other boards. */
  const withForeign = new Set<BoardId>();
  const discards = discardCount(store);
  const clocks = clockTeller(say);
  const times = lineTimes(store, anchor, say);

  /** The board's clock against this computer's: once a boot, when it has changed, and when it was set. */
  const compareClocks = (event: ClockEvent): Fact[] => {
    const at = times.place(event);
    const differenceMs =
      event.clock === 'running' && event.utc !== null
        ? Math.round(later(event.utc, WITHIN_SECOND) - at)
        : null;
    history.refresh();
    const last = history.lastCompared(event.board);
    const known = history.comparedIn(event.board);
    const right = known.findLast((each) => each.differenceMs === null || isRight(each.differenceMs));
    const goesOn = event.sets !== null && right?.sets === event.sets;
    clocks.compared(event, differenceMs, goesOn ? right : null);
    if (last === null && differenceMs === null) return [];
    const isNews =
      last === null ||
      (event.sets !== null && last.sets !== event.sets) ||
      (last.differenceMs === null) !== (differenceMs === null) ||
      Math.abs((last.differenceMs ?? 0) - (differenceMs ?? 0)) > CLOCK_NEWS_MS;
    if (!isNews && history.wasComparedIn(event.board, event.bootCount)) return [];
    const { board, bootCount: boot, boardMs } = event;
    const sets = event.sets === null ? {} : { sets: event.sets };
    return [{ type: 'clock-compared', board, boot, boardMs, differenceMs, ...sets, at }];
  };

  const warn = (event: WarningEvent): Fact[] => {
    say(
      `board ${event.board} warns: ${event.warning}${event.detail === 0 ? '' : ` (${event.detail})`}`,
      'warn',
    );
    const { board, bootCount: boot, warning, detail } = event;
    return [{ type: 'board-warned', board, boot, warning, detail, at: times.place(event) }];
  };

  // A board that is connected again says everything again: only what the store does not hold yet makes a fact.
  const bootFacts = (event: BootEvent): Fact[] => {
    const { board, bootCount: boot } = event;
    const at = times.place(event);
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
      if (event.protocolVersion >= HEARS_FROM && event.protocolVersion < TELLS_SETS_FROM)
        say(
          `board ${board}: firmware ${firmware} does not tell when its clock is set, so its clock proves no time of what it logs alone: read its marks with sync, then write a newer one with carrier flash, which forgets them`,
          'warn',
        );
      const bootedAt = later(at, durationMs(-boardMs));
      facts.push({ type: 'board-booted', board, boot, resetCause, firmware, clock, boardMs, at: bootedAt });
    }
    return facts;
  };

  const keepPage = ({ board, page, bytes }: LogPageEvent): Write => {
    const boot = bootOfPage(bytes);
    const isOfRam = withoutMemory.has(board);
    const read = readPage(bytes);
    if (read?.kind === 'table' && read.board !== board && !withForeign.has(board)) {
      withForeign.add(board);
      say(
        `board ${board}: page ${page} of boot ${boot} was written by board ${read.board} (its memory was in that board before?); such pages are kept and not read as this board's`,
        'warn',
      );
    }
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
    const at = times.place(event);
    if (!told(`${board} ${boot} ${table}`)) return [];
    const probes = event.probes.map((probe) => ({ ...probe }));
    say(`board ${board}: ${probes.length} probe${probes.length === 1 ? '' : 's'} found`);
    return [{ type: 'probes-found', board, boot, table, probes, at }];
  };

  const signed = (fact: Fact): Fact =>
    fact.type === 'board-bound' && who !== null ? { ...fact, who: store.keepText(who) } : fact;

  const keepScan = (event: ScanEvent): Write => {
    const { utc, keep } = times.placeScan(event);
    const { board, bootCount: boot, scan, boardMs } = event;
    const readings = event.readings.map(({ rom, index, raw, status }) => ({
      ...{ rom, board, boot, scan, slotIndex: index, boardMs, utc, raw, status },
    }));
    return () => {
      keep();
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
        times.place(event);
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
      const writes = isPages ? [] : [...times.corrections()];
      if (isDue) writes.push(discards.write);
      for (const event of others) {
        const known = times.corrections().length;
        const write = hear(event, now);
        writes.push(...times.corrections().slice(known));
        if (write !== null) writes.push(write);
      }
      if (writes.length === 0) return;
      store[isPages ? 'unsynced' : 'transaction'](() => {
        for (const write of writes) write();
      });
      if (!isPages) times.corrected();
      if (isDue) discards.forget();
    },
    takeInLog(now, isWhole, most) {
      const at = times.last();
      if (at === null) return NOTHING_TAKEN;
      // All that RAM has is not what a memory has that does not answer.
      isWhole &&= !withoutMemory.has(at.board) || !store.hasUnreadOfMemory(at.board);
      history.refresh();
      const known = history.disproved(at.board).length;
      const taken = log.takeIn(at.board, at, marks, now, isWhole, most);
      marks = [];
      history.refresh();
      for (const fact of history.disproved(at.board).slice(known))
        say(`board ${at.board}: ${disprovedInWords(fact, (time) => inZone(time, localZone()))}`, 'warn');
      sofar = takenTogether(sofar, taken);
      if (taken.isPart) return taken;
      const pages = isWhole ? 0 : (store.unreadPages().get(at.board) ?? 0);
      if (pages > 0) say(notWhole(at.board, pages, sofar), 'warn');
      sofar = NOTHING_TAKEN;
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
