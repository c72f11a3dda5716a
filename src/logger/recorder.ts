import { BY_THE_LOGGER } from '../carrier/byteWire.js';
import {
  type CarrierEvent,
  type ClockEvent,
  type LinkEvent,
  type MarkEvent,
  UNSAID,
  type WarningEvent,
} from '../carrier/events.js';
import { bootOfPage } from '../carrier/wire/logPage.js';
import {
  type Anchor,
  boardToUtc,
  type Epoch,
  followEpoch,
  goOn,
  JUMP_MS,
  startEpoch,
  unwrapped,
} from '../exposure/boardTime.js';
import { HOST_WITHIN } from '../exposure/bootPlacement.js';
import type { Fact } from '../store/facts.js';
import type { Store, StoredReading } from '../store/store.js';
import type { BoardId, CarrierId } from '../units/ids.js';
import {
  type BoardMs,
  boardMs,
  durationMs,
  later,
  type MonotonicMs,
  monotonicMs,
  seconds,
  type UtcMs,
} from '../units/time.js';
import { inZone, localZone } from '../units/zone.js';
import { disprovedInWords } from '../visit/boardInWords.js';
import { boardHistory } from './boardHistory.js';
import { boardLog, NOTHING_TAKEN, type Taken } from './boardLog.js';
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
  /** Reads the pages and marks that were recorded since the last call into readings and facts. */
  takeInLog(now: UtcMs): Taken;
  /** Records that a board could not give these pages of its log. */
  losePages(board: BoardId, first: number, last: number, now: UtcMs): void;
  /** After something could not be written: what it takes to be on record is read again from the store. */
  recollect(): void;
}

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
  } | null = null;
  /** The logger's own time, and how long this computer has slept by it until the line before. */
  let clockNow: UtcMs = anchor.utc;
  let sleptMs = 0;
  /** The last step of this computer's clock, and the largest that was told of those that came with it. */
  let steppedAt = monotonicMs(Number.NEGATIVE_INFINITY);
  let toldStepMs = 0;
  let told = alreadyTold(store);
  let history = boardHistory(store);
  let log = boardLog(store);
  let heard: { board: BoardId; boot: number; boardMs: BoardMs; utc: UtcMs } | null = null;
  let marks: MarkEvent[] = [];
  const discards = discardCount(store);
  const clocks = clockTeller(say);

  /** Whether this computer's monotonic clock, which seems to be behind by so much, stood still for most of it since last asked. */
  const hasSlept = (host: MonotonicMs, byMs: number): boolean => {
    const before = sleptMs;
    sleptMs = clockNow - anchor.utc - (host - anchor.monotonic);
    return byMs > JUMP_MS && sleptMs - before > byMs / 2;
  };

  /** Places a line in time and keeps the epoch up to date. */
  const place = (event: Extract<CarrierEvent, { boardMs: unknown }>): UtcMs => {
    const host = event.arrival.monotonic;
    const isSameBoot = current?.board === event.board && current.boot === event.bootCount;
    const lineTime = isSameBoot ? unwrapped(event.boardMs, current!.lastMs) : event.boardMs;
    if (current === null || current.board !== event.board || current.boot !== event.bootCount) {
      const epoch = startEpoch(lineTime, host);
      const { board, bootCount: boot } = event;
      const labelledMs = Number.NEGATIVE_INFINITY;
      current = { board, boot, epoch, lastMs: lineTime, firstMs: lineTime, labelledMs };
    } else if (event.kind === 'heartbeat' || event.kind === 'probes') {
      const early = current.epoch.offsetMs - (host - lineTime);
      const step = followEpoch(current.epoch, lineTime, host, hasSlept(host, early));
      current.epoch = step.epoch;
      if (step.jumpMs !== 0) {
        // The host stood still or was stepped: shift its clock so that the board stays the ruler.
        session = { ...session, monotonic: monotonicMs(session.monotonic + step.jumpMs) };
        current.epoch = goOn(lineTime, host);
        current.labelledMs = Number.NEGATIVE_INFINITY;
        // After a sleep the lines that were kept meanwhile come in one go; the largest step counts.
        const isSame = host - steppedAt < SAME_STEP && Math.abs(step.jumpMs) <= toldStepMs;
        steppedAt = host;
        toldStepMs = isSame ? toldStepMs : Math.abs(step.jumpMs);
        if (!isSame)
          say(
            `this computer's clock and the board's differ by ${Math.round(step.jumpMs / 1000)} s more than before (asleep?); the board's counts`,
            'warn',
          );
      } else relabelLate(current, lineTime);
    }
    current.lastMs = lineTime;
    const utc = boardToUtc(current.epoch, lineTime, session);
    heard = { board: event.board, boot: event.bootCount, boardMs: event.boardMs, utc };
    return utc;
  };

  /** While an epoch settles: what was labelled by lines that had come late is labelled by the earliest. */
  const relabelLate = (now: NonNullable<typeof current>, lineTime: number): void => {
    const { board, boot, epoch, firstMs, labelledMs } = now;
    if (lineTime >= epoch.settlesUntilMs || labelledMs - epoch.offsetMs <= HOST_WITHIN) return;
    now.labelledMs = epoch.offsetMs;
    store.relabel(board, boot, firstMs, boardToUtc(epoch, boardMs(0), session));
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

  /** The facts in an event that the store does not hold yet; a reconnected board says everything again. */
  const factsOf = (event: CarrierEvent): Fact[] => {
    if (event.kind !== 'boot' && event.kind !== 'probes') return [];
    const at = place(event);
    const facts: Fact[] = [];
    if (event.kind === 'boot') {
      const onRecord = carrierOf(store, event.board);
      if (carrier !== null && onRecord !== null && onRecord !== carrier)
        say(
          `board ${event.board} is built into carrier ${onRecord} on record, though its port was given to carrier ${carrier}; the record counts (carrier pair changes it)`,
          'warn',
        );
      else if (carrier !== null && told(`${carrier} ${event.board}`))
        facts.push({
          type: 'board-bound',
          carrier,
          board: event.board,
          at,
          ...(who === null ? {} : { who: store.keepText(who) }),
        });
      if (told(`${event.board} ${event.bootCount}`)) {
        say(
          `board ${event.board}: boot ${event.bootCount} (${event.resetCause}), firmware ${event.firmwareVersion}`,
        );
        facts.push({
          type: 'board-booted',
          board: event.board,
          boot: event.bootCount,
          resetCause: event.resetCause,
          firmware: event.firmwareVersion,
          clock: event.clock,
          boardMs: event.boardMs,
          at: later(at, durationMs(-event.boardMs)),
        });
      }
    } else if (told(`${event.board} ${event.bootCount} ${event.table}`)) {
      say(`board ${event.board}: ${event.probes.length} probe${event.probes.length === 1 ? '' : 's'} found`);
      facts.push({
        type: 'probes-found',
        board: event.board,
        boot: event.bootCount,
        table: event.table,
        probes: event.probes.map((probe) => ({ ...probe })),
        at,
      });
    }
    return facts;
  };

  const readingsOf = (event: CarrierEvent): Omit<StoredReading, 'id'>[] => {
    if (event.kind !== 'scan') return [];
    const utc = place(event);
    current!.labelledMs = Math.max(current!.labelledMs, current!.epoch.offsetMs);
    store.keepHeard(event.board, event.bootCount, event.boardMs, utc);
    return event.readings.map(({ rom, index, raw, status }) => ({
      rom,
      board: event.board,
      boot: event.bootCount,
      scan: event.scan,
      slotIndex: index,
      boardMs: event.boardMs,
      utc,
      raw,
      status,
    }));
  };

  return {
    record(events, now) {
      clockNow = now;
      for (const event of events) if (event.kind === 'discarded') discards.add(event, now);
      const others = events.filter(({ kind }) => kind !== 'discarded');
      const isDue = discards.isDue(events, now);
      if (others.length === 0 && !isDue) return;
      const isPages = !isDue && others.every(({ kind }) => kind === 'log-page');
      store[isPages ? 'unsynced' : 'transaction'](() => {
        if (isDue) discards.write();
        for (const event of others) {
          if (event.kind === 'link') {
            if (event.detail !== UNSAID) say(event.detail, levelOf(event));
          } else if (event.kind === 'heartbeat') place(event);
          else if (event.kind === 'scan') store.addReadings(readingsOf(event));
          else if (event.kind === 'log-page')
            store.keepPage(event.board, {
              boot: bootOfPage(event.bytes),
              page: event.page,
              bytes: event.bytes,
            });
          else if (event.kind === 'mark') marks.push(event);
          else if (event.kind === 'answer') clocks.answered(event, now);
          else if (event.kind === 'clock') store.append(now, ...compareClocks(event));
          else if (event.kind === 'warning') store.append(now, ...warn(event));
          else store.append(now, ...factsOf(event));
        }
      });
      if (isDue) discards.forget();
    },
    takeInLog(now) {
      const at = heard;
      if (at === null) return NOTHING_TAKEN;
      history.refresh();
      const known = history.disproved(at.board).length;
      const taken = log.takeIn(at.board, at, marks, now);
      marks = [];
      history.refresh();
      for (const fact of history.disproved(at.board).slice(known))
        say(`board ${at.board}: ${disprovedInWords(fact, (time) => inZone(time, localZone()))}`, 'warn');
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
