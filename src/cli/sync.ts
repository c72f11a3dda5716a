import type { Command } from 'commander';
import type { BoardWarning } from '../carrier/events.js';
import type { CarrierSource } from '../carrier/source.js';
import { PROVEN_WITHIN } from '../exposure/bootPlacement.js';
import type { Attendant } from '../logger/attend.js';
import type { LoggedSource } from '../logger/logger.js';
import { refuseUnfit } from '../logger/openToLog.js';
import { openStoreToWrite, type Store } from '../store/store.js';
import type { Clock } from '../units/clock.js';
import type { BoardId } from '../units/ids.js';
import { Refusal } from '../units/refusal.js';
import {
  formatInstant,
  type MonotonicMs,
  MS_PER_MINUTE,
  minutes,
  monotonicMs,
  seconds,
} from '../units/time.js';
import { inZone, localZone } from '../units/zone.js';
import { type BoardDay, boardDay, type Lacking } from '../visit/boardDay.js';
import { bootTimeInWords, clockOffInWords, disprovedInWords, warningInWords } from '../visit/boardInWords.js';
import { clockBehindInWords } from '../visit/clockBehind.js';
import { type MarkOffer, STEP_MIN } from '../visit/marks.js';
import { type EmulateOptions, withEmulate } from './carrier/emulatedCarrier.js';
import { type Context, onStore, type StoreOptions } from './context.js';
import { plainly } from './logging/logLines.js';
import { PORT_OPTION, pathAndCarrier, type SourceOptions } from './logging/sources.js';
import { stopSignal } from './stopSignal.js';
import { loggedIn } from './whoDoes.js';
import { errSentence, wrapped } from './wrapped.js';
import { WrongCommandLine } from './wrongCommandLine.js';

/** A full log takes about a minute; a board that mounts it, a few seconds more. */
const DONE_WITHIN = minutes(10);
/** A full log is some 500 pages. */
const TELL_EVERY = seconds(5);
/** A board that restarts when its port is opened may spend a while in its bootloader. */
const ANSWER_WITHIN = seconds(75);

/** The command `sync`: takes over what carriers logged alone. */
export function define(command: Command, context: Context): void {
  withEmulate(onStore(command).option(...PORT_OPTION)).action((options: SyncOptions, itself: Command) =>
    sync(options, itself, context),
  );
}

type SyncOptions = StoreOptions & Pick<SourceOptions, 'port'> & EmulateOptions;

async function sync(options: SyncOptions, command: Command, context: Context): Promise<void> {
  if (options.emulate === undefined) {
    if (options.fault !== undefined) throw new WrongCommandLine('--fault is for --emulate.');
    const ports = (options.port ?? []).map(pathAndCarrier);
    if (ports.length === 0)
      throw new WrongCommandLine(
        'Give --port once for each board that is to be read, or --emulate to try it without.',
      );
    const { clock } = context;
    refuseUnfit(options.store, process.pid, clock.utc(), context.io.err);
    const { serialBoard } = await import('../carrier/serialBoard.js');
    const sources = ports.map((port) => ({ source: serialBoard(port.path, clock), carrier: port.carrier }));
    return readAll(
      { options, path: options.store, keptIn: options.store, clock, sources, prepare: () => {} },
      context,
    );
  }
  if (options.port !== undefined) throw new WrongCommandLine('Give either --port or --emulate, not both.');
  const { emulatedDay } = await import('./carrier/emulatedDay.js');
  return emulatedDay(options, command, context, (day) => readAll({ options, ...day }, context));
}

/** What is to be read, into which store, by which clock. */
export interface Reading {
  readonly path: string;
  /** The store to name to people; null when it is forgotten afterwards. */
  readonly keptIn: string | null;
  readonly clock: Clock;
  readonly sources: readonly LoggedSource[];
  /** What must be on record before. */
  readonly prepare: (store: Store) => void;
}

async function readAll(
  { options, path, keptIn, clock, sources, prepare }: Reading & { options: SyncOptions },
  { io }: Context,
): Promise<void> {
  const { runLogger } = await import('../logger/logger.js');
  for (const { source } of sources) await source.open();
  const store = openStoreToWrite(path, clock.utc());
  const behind = clockBehindInWords(store, clock.utc(), (at) => inZone(at, localZone()));
  if (behind !== null) errSentence(io, behind);
  prepare(store);
  const { signal, done } = stopSignal();
  const stop = new AbortController();
  const begun = clock.monotonic();
  const before = store.head().count;
  const read = new Map<Attendant, BoardId>();
  let refusal: Refusal | null = null;
  const tell = pagesInWords(store, clock, io);
  const onProgress = (attendant: Attendant, { name }: CarrierSource) => {
    tell(attendant.talk.board, name);
    if (attendant.talk.board !== null && attendant.talk.isCaughtUp())
      read.set(attendant, attendant.talk.board);
    refusal ??= objectionTo(attendant, name, begun, clock.monotonic());
    if (refusal !== null || read.size === sources.length) stop.abort();
  };
  try {
    await runLogger({
      store,
      whenUnwritable: 'end',
      sources,
      clock,
      pid: process.pid,
      who: loggedIn(),
      say: plainly(io),
      signal: AbortSignal.any([signal, stop.signal]),
      onProgress,
      withOpenPage: true,
    });
    if (refusal !== null) throw refusal;
    if (read.size < sources.length)
      throw new Refusal(
        `Stopped before all was read (${read.size} of ${sources.length} boards); what came is kept, and read as far as its times are proven: run sync again.`,
      );
    const days = [...read.values()].map((board) => boardDay(store, board, before));
    const taken = [...read.keys()].map((attendant) => attendant.taken());
    if (options.json) io.out(JSON.stringify({ boards: days.map(toJson) }));
    else
      for (const [index, day] of days.entries())
        for (const line of inWords(day, taken[index]!, keptIn)) io.out(wrapped(line));
  } finally {
    done();
    store.close();
  }
}

/** Says every few seconds how much of a board's log has come, while more comes. */
function pagesInWords(store: Store, clock: Clock, io: Context['io']) {
  const said = new Map<BoardId, { at: number; pages: number }>();
  return (board: BoardId | null, port: string): void => {
    if (board === null) return;
    const now = clock.monotonic();
    const before = said.get(board);
    if (before !== undefined && now - before.at < TELL_EVERY) return;
    const pages = store.pageNumbers(board).length;
    if (before !== undefined && pages !== before.pages)
      io.err(`${port}: ${pages - before.pages} more pages of its log, ${pages} in all`);
    said.set(board, { at: now, pages });
  };
}

function objectionTo(
  attendant: Attendant,
  port: string,
  begun: MonotonicMs,
  now: MonotonicMs,
): Refusal | null {
  if (attendant.talk.isMute() && (attendant.talk.board !== null || now - begun > ANSWER_WITHIN))
    return new Refusal(
      attendant.talk.board === null
        ? `No board answers on ${port}; check port and cable.`
        : `Board ${attendant.talk.board} does not hear commands, so its log cannot be asked for; write a newer firmware with carrier flash.`,
    );
  return now > monotonicMs(begun + DONE_WITHIN)
    ? new Refusal(
        'The boards were not read within 10 minutes; what came is kept: look at the cable, then run sync again.',
      )
    : null;
}

function toJson({ board, boots, lacking, gaps, marks, clock, disproved, warnings, lost }: BoardDay) {
  const at = formatInstant;
  return {
    board,
    clockDifferenceMs: clock?.differenceMs ?? null,
    clockDisproved: disproved.map(({ boot, differenceMs, at: when }) => ({
      boot,
      differenceMs,
      at: at(when),
    })),
    boots: boots.map(({ at: began, boot, scans, unproven, resetCause, clock: then, provenBy, withinMs }) => ({
      boot,
      began: at(began),
      scans,
      unproven,
      resetCause,
      clock: then,
      provenBy,
      withinMs,
    })),
    lacking,
    gaps: gaps.map(({ from, to }) => ({ from: at(from), to: at(to) })),
    marks: marks.map((mark) => ({
      ...mark,
      at: at(mark.at),
      known: mark.known.map((each) => ({ ...each, at: at(each.at) })),
    })),
    warnings: warnings.map(({ warning, detail, at: when }) => ({ warning, detail, at: at(when) })),
    lostPages: lost.map(({ first, last }) => ({ first, last })),
  };
}

function inWords(day: BoardDay, taken: ReturnType<Attendant['taken']>, keptIn: string | null): string[] {
  const zone = localZone();
  const when = (at: Parameters<typeof inZone>[0]) => inZone(at, zone);
  const boots = day.boots.map(
    (each) =>
      `  boot ${each.boot}  ${when(each.at)}  ${each.scans} scans  ${each.resetCause ?? 'cause unknown'}  ${bootTimeInWords(each, when)}`,
  );
  return [
    `board ${day.board}: ${taken.readings} new readings${taken.readings === 0 ? '' : `; all of it is ${keptIn === null ? 'stored' : `in ${keptIn}`} and acknowledged`}`,
    ...(day.clock === null ? [] : [`  its clock ${clockInWords(day.clock.differenceMs)}`]),
    ...day.disproved.map((each) => `  ${disprovedInWords(each, when)}`),
    ...boots,
    ...day.lacking.map(lackingInWords),
    ...day.gaps.map(({ from, to }) => `  gap  ${when(from)} to ${when(to)}`),
    ...day.lost.map(({ first, last }) => `  pages ${first} to ${last} of its log could not be read`),
    ...(taken.homelessScans > 0
      ? [`  ${taken.homelessScans} scans of probes nobody knows: their table was overwritten; kept as pages`]
      : []),
    ...day.warnings.map(
      ({ warning, detail }) =>
        `  ${warningInWords(warning, detail)}${TO_LOOK_AT.has(warning) ? '; look with carrier check' : ''}`,
    ),
    ...day.marks.flatMap((mark, index) => markInWords(mark, index + 1, when)),
    ...(day.marks.length > 0
      ? ['  No mark is set by itself: record each with cup load, seat or turn and --at.']
      : []),
  ];
}

function clockInWords(differenceMs: number | null): string {
  if (differenceMs === null) return 'had lost its time, so it proves nothing; it is set now';
  const off = `${clockOffInWords(differenceMs)} this computer's`;
  return Math.abs(differenceMs) <= PROVEN_WITHIN
    ? `was right (${off})`
    : `was wrong (${off}): it proves no times but those of a boot that was running still`;
}

/** Warnings that a look at the board helps with. */
const TO_LOOK_AT: ReadonlySet<string> = new Set(['memory-lost', 'clock-lost'] satisfies BoardWarning[]);

function lackingInWords({ carrier, slot, rom, usable, scans }: Lacking): string {
  return `  ${carrier}:${slot}  probe ${rom} ${
    usable === null ? 'was never found' : `gave a usable reading in ${usable} of ${scans} scans`
  }: look at its lead and plug`;
}

/** Hours and minutes of the board's own counter. */
const sinceBoot = (ms: number): string => {
  const whole = Math.floor(ms / MS_PER_MINUTE);
  return `${Math.floor(whole / 60)} h ${String(whole % 60).padStart(2, '0')} min`;
};

const noStep = ({ compared, steps }: MarkOffer): string =>
  compared === 0
    ? 'no readings around it to look for a change in'
    : `no ${steps.length === 0 ? '' : 'other '}slot's temperature changed course by ${STEP_MIN} °C or more: a cup as warm as its slot, or a neighbour's, may hide it`;

function markInWords(mark: MarkOffer, number: number, when: (at: MarkOffer['at']) => string): string[] {
  const known = mark.known.map(({ cup, did, at }) => `${cup} ${did} at ${when(at)}`);
  const steps = mark.steps.map(
    ({ carrier, slot, change, moreAt }) =>
      `${carrier}:${slot} ${change > 0 ? '+' : ''}${change.toFixed(1)} °C${moreAt === null ? '' : ` (more at mark ${moreAt})`}`,
  );
  return [
    `  mark ${number}  ${mark.isProven ? when(mark.at) : `${sinceBoot(mark.boardMs)} after boot ${mark.boot} began; its time is not proven`}`,
    ...(steps.length > 0 ? [`    temperature changed course in ${steps.join(', ')}`] : []),
    ...(mark.isProven && mark.steps.every(({ moreAt }) => moreAt !== null) ? [`    ${noStep(mark)}`] : []),
    ...(known.length > 0 ? [`    on record nearby: ${known.join(', ')}`] : []),
  ];
}
