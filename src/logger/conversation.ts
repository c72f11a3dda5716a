import { begin, type CommandLink, hear, IDLE, isIdle, type Outcome, tick } from '../carrier/commandLink.js';
import type { CarrierEvent, LogStateEvent } from '../carrier/events.js';
import type { BoardCommand } from '../carrier/wire/command.js';
import { HEARS_FROM } from '../carrier/wire/frames.js';
import { isSamePage } from '../carrier/wire/logPage.js';
import type { KeptLog } from '../store/logShelf.js';
import type { Commits } from '../store/sqlite.js';
import type { BoardId } from '../units/ids.js';
import { type DurationMs, type MonotonicMs, seconds, type UtcMs } from '../units/time.js';
import { mustSetClock, nothingYet } from './aboutBoard.js';
import { type AskedRun, acknowledgeable, type LogView, missingRun, PAGE_TRIES_MAX } from './pagePlan.js';
import { afterSlotCommand, type SlotSetting, slotCommands } from './slotPlan.js';

/** What the conversation asks of whoever conducts it. */
export type Wish =
  /** Write this line to the board. */
  | { readonly wish: 'send'; readonly line: string }
  /** Read what was recorded of the log into readings; not all of it, when the link was lost before the rest had come. */
  | { readonly wish: 'take-in'; readonly isWhole: boolean }
  /** Make durable what is not: no scan comes soon enough that would. */
  | { readonly wish: 'settle' }
  | { readonly wish: 'lost'; readonly board: BoardId; readonly first: number; readonly last: number };

export interface Conversation {
  /** Takes what the board said, after it was recorded. A page need not be durable yet: it is acknowledged when it is. */
  hear(event: CarrierEvent, now: MonotonicMs, utc: UtcMs): void;
  /** Not all that was to be taken in was: it is asked for again. */
  takeInMore(): void;
  /** What to do next; null when there is nothing. To be asked again until it is null, and at least every second. */
  next(now: MonotonicMs, utc: UtcMs): Wish | null;
  /** Whether everything the board has is here, durable and acknowledged. */
  isCaughtUp(): boolean;
  /** Whether something is under way that should not wait for long: an answer, pages, the second to set the clock by. */
  isBusy(now: MonotonicMs): boolean;
  /** Whether the board has answered nothing so far, although it was asked often enough. */
  isMute(): boolean;
  readonly board: BoardId | null;
}

/** The board takes a host to be gone after 60 s without a word. */
const SPEAK_EVERY: DurationMs = seconds(20);
const SILENT_FOR: DurationMs = seconds(30);
/** After this long without a page the rest of a run is not coming. */
const PAGES_WITHIN: DurationMs = seconds(5);
/** A page waits so long to become durable with a scan; the slowest board has one every 25 s. */
export const SCAN_WITHIN: DurationMs = seconds(30);
/** The time is told within this much of the second that it tells. */
const SECOND_BEGINS_MS = 150;

/**
 * The host's part in talking with one board over one port. No I/O: it is told what was heard and asked what to say.
 *
 * @param keptLogs what is here of a board's pages from one number to another, which may be of a log that it no longer has
 * @param commits what was recorded so far, and what of that is durable
 * @param wanted what its slots should be set to; null to leave them as they are
 * @param withOpenPage whether to read also the page that still grows
 */
export function conversation(options: {
  readonly keptLogs: (board: BoardId, from: number, upTo: number) => readonly KeptLog[];
  readonly commits: () => Commits;
  readonly wanted: ((board: BoardId, utc: UtcMs) => ReadonlyMap<number, SlotSetting>) | null;
  readonly withOpenPage: boolean;
}): Conversation {
  let link: CommandLink = IDLE;
  const outbox: string[] = [];
  let silentUntil = Number.NEGATIVE_INFINITY;
  let hasAnswered = false;
  let triedInVain = false;
  let isOpen = false;
  let spokeAt = Number.NEGATIVE_INFINITY;
  let boot: { board: BoardId; count: number; protocol: number } | null = null;
  /** Whether pages came that nothing was made of yet, in whatever boot. */
  let isUnread = false;
  /** Whether the link was lost with such pages. */
  let isBrokenOff = false;
  let about = nothingYet();

  const settle = (
    step: { link: CommandLink; send: string | null; outcome: Outcome | null },
    now: MonotonicMs,
  ) => {
    link = step.link;
    if (step.send !== null) outbox.push(step.send);
    if (step.outcome !== null) conclude(step.outcome, now);
  };

  const conclude = ({ command, result, values }: Outcome, now: MonotonicMs) => {
    if (result === 'no-answer') {
      silentUntil = now + SILENT_FOR;
      triedInVain = true;
      if (command.name === 'resend') about.run = null;
      return;
    }
    hasAnswered = true;
    triedInVain = false;
    spokeAt = now;
    const isDone = result === 'done';
    switch (command.name) {
      case 'identify':
        about.isIdentified = true;
        return;
      case 'marks':
        about.hasMarks = true;
        about.mustTakeIn = true;
        return;
      case 'settings':
        about.hasSettings = true;
        return;
      case 'time':
        about.clockSetAt = now;
        return;
      case 'limits':
      case 'due':
        if (isDone) about.slots = afterSlotCommand(about.slots, command);
        else about.refused.add(JSON.stringify(command));
        return;
      case 'acknowledge':
        about.acknowledged = Math.max(about.acknowledged, command.page);
        return;
      case 'resend':
        if (about.run === null) return;
        about.run.expected = isDone ? Number.parseInt(values[0] ?? '0', 16) : 0;
        about.run.at = now;
        return;
      default:
        return;
    }
  };

  /** A run of pages is over: what came is held, what did not come was asked for in vain. */
  const endRun = () => {
    const { run } = about;
    if (run === null) return;
    about.run = null;
    about.mustTakeIn = true;
    about.isHurried = run.count > 1 || options.withOpenPage;
    if (run.isProof) {
      about.hasOpenPage ||= run.page === about.log?.open && run.got.has(run.page);
      const tries = (about.proofTries.get(run.page) ?? 0) + 1;
      about.proofTries.set(run.page, tries);
      // Whether they are of another log cannot be known, so they are read.
      if (run.expected === 0 || tries === PAGE_TRIES_MAX)
        about.unproven = about.unproven.filter(({ pages }) => pages.at(-1) !== run.page);
      return;
    }
    if (run.isOpenPage) {
      about.hasOpenPage = true;
      return;
    }
    const isSweep = about.newest === null;
    const highest = Math.max(0, ...run.got);
    // Nobody knew where the log ends: it ends where the pages stopped coming.
    if (isSweep && (run.expected ?? 0) < run.count && run.got.size >= (run.expected ?? 0))
      about.newest = Math.max(highest, run.page - 1);
    const last = isSweep ? highest : run.page + run.count - 1;
    for (let page = run.page; page <= last; page += 1)
      if (!run.got.has(page)) {
        const tries = (about.tries.get(page) ?? 0) + 1;
        about.tries.set(page, tries);
        if (tries === PAGE_TRIES_MAX) about.lost.push(page);
      }
  };

  /** Takes note of what was recorded last. */
  const wait = (page: number, now: MonotonicMs) =>
    about.waiting.set(page, { commit: options.commits().made, since: now });
  /** Pages that are here and not durable yet. */
  const waiting = () => {
    const { durable } = options.commits();
    for (const [page, { commit }] of about.waiting) if (commit <= durable) about.waiting.delete(page);
    return about.waiting;
  };
  /** Whether pages have waited long enough for a scan; then not again at once. */
  const mustSettle = (now: MonotonicMs): boolean => {
    const pages = [...waiting().values()];
    const must =
      pages.length > 0 && (about.isHurried || pages.some(({ since }) => now - since > SCAN_WITHIN));
    about.isHurried = false;
    if (must) for (const page of pages) page.since = now;
    return must;
  };

  const view = (): LogView => ({
    oldest: about.log?.oldest ?? 1,
    open: about.log?.open ?? 0,
    newest: about.newest,
    held: about.held,
    waiting: waiting(),
    tries: about.tries,
  });

  const logIsReadable = () => about.log !== null && about.log.store !== 'mounting';

  /** The page run that is to be asked for next. */
  const nextRun = (): AskedRun | null => {
    if (!logIsReadable()) return null;
    const proof = about.unproven[0]?.pages.at(-1);
    if (proof !== undefined) return { page: proof, count: 1, isOpenPage: false, isProof: true };
    const run = missingRun(view());
    if (run !== null) return { ...run, isOpenPage: false, isProof: false };
    const open = about.log!.open;
    return options.withOpenPage && open > 0 && !about.hasOpenPage
      ? { page: open, count: 1, isOpenPage: true, isProof: false }
      : null;
  };

  const nextCommand = (now: MonotonicMs, utc: UtcMs): BoardCommand | null => {
    if (!about.isIdentified || now - spokeAt >= SPEAK_EVERY) return { name: 'identify' };
    if (boot === null) return null;
    if (!about.hasMarks) return { name: 'marks' };
    if (mustSetClock(about, now)) {
      if (utc % 1000 < SECOND_BEGINS_MS) return { name: 'time' };
    }
    if (!about.hasSettings) return { name: 'settings' };
    const slots = options.wanted === null ? [] : slotCommands(options.wanted(boot.board, utc), about.slots);
    const slot = slots.find((command) => !about.refused.has(JSON.stringify(command)));
    if (slot) return slot;
    const page = logIsReadable() && about.unproven.length === 0 ? acknowledgeable(view()) : null;
    if (page !== null && page > about.acknowledged && about.run === null)
      return { name: 'acknowledge', page };
    const run = about.run === null ? nextRun() : null;
    if (run === null) return null;
    about.run = { ...run, expected: null, got: new Set(), at: now };
    return { name: 'resend', page: run.page, count: run.count };
  };

  const meet = (board: BoardId, count: number, protocol: number) => {
    boot = { board, count, protocol };
    about = nothingYet();
    // The board speaks of itself at each boot, so that nothing it was told before is taken for granted.
    link = { ...link, pending: null };
    outbox.length = 0;
    silentUntil = Number.NEGATIVE_INFINITY;
  };

  return {
    hear(event, now, utc) {
      switch (event.kind) {
        case 'link':
          if (event.state === 'lost-lines' || event.state === 'note') return;
          isOpen = event.state === 'open';
          isBrokenOff = !isOpen && isUnread;
          link = { ...link, pending: null };
          outbox.length = 0;
          about = nothingYet();
          boot = null;
          hasAnswered = false;
          triedInVain = false;
          silentUntil = Number.NEGATIVE_INFINITY;
          return;
        case 'answer':
          settle(hear(link, event, now, utc), now);
          return;
        case 'boot': {
          const identifying = link.pending?.command.name === 'identify' || about.isIdentified;
          const isFirst = boot === null && identifying;
          if (isFirst) boot = { board: event.board, count: event.bootCount, protocol: event.protocolVersion };
          else meet(event.board, event.bootCount, event.protocolVersion);
          return;
        }
        case 'clock':
          about.clock = { event, hostUtc: utc };
          return;
        case 'settings':
          about.slots = new Map();
          return;
        case 'slot-setting':
          about.slots = new Map(about.slots).set(event.slot, event);
          return;
        case 'mark':
          about.mustTakeIn = true;
          return;
        case 'log-state':
          takeLogState(event);
          return;
        case 'log-page':
          isUnread = true;
          prove(event.page, event.bytes, now);
          if (event.page !== about.log?.open) about.held.add(event.page);
          wait(event.page, now);
          if (about.run !== null) {
            about.run.got.add(event.page);
            about.run.at = now;
          }
          return;
        default:
          return;
      }
    },
    takeInMore() {
      isUnread = true;
      if (isOpen) about.mustTakeIn = true;
      else isBrokenOff = true;
    },
    next(now, utc) {
      if (isBrokenOff) {
        isBrokenOff = false;
        isUnread = false;
        return { wish: 'take-in', isWhole: false };
      }
      const { run } = about;
      if (run?.expected != null && (run.got.size >= run.expected || now - run.at > PAGES_WITHIN)) endRun();
      const first = about.lost.shift();
      if (first !== undefined && boot !== null) {
        let last = first;
        while (about.lost[0] === last + 1) last = about.lost.shift()!;
        return { wish: 'lost', board: boot.board, first, last };
      }
      if (about.mustTakeIn && about.run === null && about.log?.store !== 'mounting' && nextRun() === null) {
        about.mustTakeIn = false;
        isUnread = false;
        return { wish: 'take-in', isWhole: logIsReadable() };
      }
      if (mustSettle(now)) return { wish: 'settle' };
      settle(tick(link, now, utc), now);
      const line = outbox.shift();
      if (line !== undefined) return { wish: 'send', line };
      if (!isOpen || !isIdle(link) || now < silentUntil) return null;
      if (boot !== null && boot.protocol < HEARS_FROM) return null;
      const command = nextCommand(now, utc);
      if (command === null) return null;
      settle(begin(link, command, now, utc), now);
      return { wish: 'send', line: outbox.shift()! };
    },
    isCaughtUp: () =>
      boot !== null &&
      isIdle(link) &&
      about.isIdentified &&
      about.hasMarks &&
      about.hasSettings &&
      about.run === null &&
      !about.mustTakeIn &&
      about.lost.length === 0 &&
      logIsReadable() &&
      nextRun() === null &&
      waiting().size === 0 &&
      (acknowledgeable(view()) ?? 0) <= about.acknowledged,
    isBusy: (now) =>
      isOpen && (!isIdle(link) || about.run !== null || (about.isIdentified && mustSetClock(about, now))),
    isMute: () => (boot !== null && boot.protocol < HEARS_FROM) || (triedInVain && !hasAnswered),
    get board() {
      return boot?.board ?? null;
    },
  };

  /** Holds pages that are kept once the last of them has come as it is kept; none of them when that came as another. */
  function prove(page: number, bytes: Uint8Array, now: MonotonicMs): void {
    for (const { pages, last } of about.unproven) {
      if (page !== pages.at(-1) || !isSamePage(last, bytes)) continue;
      for (const each of pages.slice(0, -1)) {
        about.held.add(each);
        // Those that came before the board restarted or the port was opened again may be waiting still.
        wait(each, now);
      }
    }
    about.unproven = about.unproven.filter(
      ({ pages }) => page !== pages.at(-1) && !pages.every((each) => about.held.has(each)),
    );
  }

  function takeLogState(event: LogStateEvent): void {
    const newest = event.open > 0 ? event.open - 1 : null;
    // While the memory does not answer, or is mounted, numbers are those of another log.
    const isFirst = about.log === null || (event.store === 'memory' && about.log.store !== 'memory');
    if (isFirst && boot !== null) {
      about.held = new Set();
      about.tries.clear();
      about.proofTries.clear();
      about.newest = null;
      const upTo = event.open > 0 ? event.open : Number.MAX_SAFE_INTEGER;
      about.unproven = event.store === 'memory' ? options.keptLogs(boot.board, event.oldest, upTo) : [];
    }
    if (about.log?.open !== event.open) about.hasOpenPage = false;
    about.log = event;
    about.acknowledged = isFirst ? event.acknowledged : Math.max(about.acknowledged, event.acknowledged);
    about.newest = newest ?? about.newest;
  }
}
