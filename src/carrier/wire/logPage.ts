import { type BoardId, parseBoardId, parseRomId, type RomId } from '../../units/ids.js';
import { BOARD_MS_WRAP, type BoardMs, boardMs, type UtcMs, utcMs } from '../../units/time.js';
import type { BoardStatus, ClockState, ResetCause } from '../events.js';
import { crc16 } from './crc16.js';
import { inverse, toHex } from './fields.js';
import {
  CLOCK_STATES,
  LOG_HEADER_BYTES,
  LOG_KIND_SHIFT,
  LOG_KINDS,
  LOG_PAGE_BYTES,
  LOG_ROMS_OFFSET,
  LOG_ROMS_PER_PAGE,
  LOG_SETS_OFFSET,
  LOG_SETS_SHIFT,
  LOG_STATUS,
  PERIOD_SECONDS_MIN,
  PROBE_STATUSES,
  PROBES_MAX,
  RESET_CAUSES,
  TELLS_SETS_FROM,
} from './frames.js';

/** What the pages of one boot have in common. */
interface PageHead {
  readonly page: number;
  /** Pages before this one that no host had acknowledged when it was begun, at most FFFFh. */
  readonly unacknowledged: number;
  readonly boot: number;
  readonly table: number;
  /** How many probes the table has. */
  readonly probes: number;
}

/** Scans in a row, each `periodMs` after the one before (true to half a second). */
export interface ScansPage extends PageHead {
  readonly kind: 'scans';
  readonly scans: readonly LoggedScan[];
  /** The board's clock at the first scan, Unix seconds modulo LOG_SECOND_MODULUS; null when it did not run. */
  readonly second: number | null;
}

export interface LoggedScan {
  readonly scan: number;
  /** When the probes began to convert. */
  readonly boardMs: BoardMs;
  /** By index of the table; null stands for a status of a later protocol. */
  readonly values: readonly ({ readonly raw: number | null; readonly status: BoardStatus } | null)[];
}

/** Who sits at which index, and what the board knew of the time. A large table comes on several pages. */
export interface TablePage extends PageHead {
  readonly kind: 'table';
  readonly boardMs: BoardMs;
  readonly board: BoardId;
  /** The time at `boardMs`, null when the board knew none. */
  readonly utc: UtcMs | null;
  readonly clock: ClockState;
  /** How often the clock had been set, modulo 256; null before protocol version 3. */
  readonly sets: number | null;
  readonly resetCause: ResetCause;
  readonly nextScan: number;
  readonly roms: readonly { readonly index: number; readonly rom: RomId }[];
}

const statuses = new Map(
  [...inverse<BoardStatus>(PROBE_STATUSES)].map(([letter, status]) => [letter.charCodeAt(0), status]),
);
const clocks = inverse<ClockState>(CLOCK_STATES);
const causes = inverse<ResetCause>(RESET_CAUSES);
const PROBES_MASK = 0x1f;
const VALUE_BITS = 12;
const STATUS_MASK = 0x7f;
const ROM_BYTES = 8;

const littleEndian = (bytes: Uint8Array, at: number, count: number): number => {
  let value = 0;
  for (let index = count - 1; index >= 0; index -= 1) value = value * 256 + (bytes[at + index] ?? 0);
  return value;
};

/** Whether these bytes are page `number`, undamaged. */
export function isPage(bytes: Uint8Array, number: number): boolean {
  if (bytes.length !== LOG_PAGE_BYTES || littleEndian(bytes, 2, 3) !== number) return false;
  return crc16(Buffer.from(bytes.subarray(2)).toString('latin1')) === littleEndian(bytes, 0, 2);
}

/** The boot that wrote a page, told without understanding the rest. */
export const bootOfPage = (bytes: Uint8Array): number => littleEndian(bytes, 8, 2);

const kindOf = (page: Uint8Array): number => ((page[7] ?? 0) >> LOG_KIND_SHIFT) & 1;

/** Of how often the clock was set each page bears the rest by this. */
export const PAGE_SETS_MODULUS = 2 ** (8 - LOG_SETS_SHIFT);

/** What the first 20 bytes of a page tell of what is on it. */
export interface ToldByHead {
  readonly kind: 'scans' | 'table';
  /** How often the clock had been set, modulo PAGE_SETS_MODULUS; 0 before protocol version 3. */
  readonly setsLow: number;
  readonly table: number;
  readonly probes: number;
  readonly boardMs: number;
  /** From scan to scan; 0 of a table. */
  readonly periodMs: number;
  /** Of its last scan. */
  readonly lastMs: number;
  /** The number of its first scan, or of the one after a table. */
  readonly firstScan: number;
  readonly scans: number;
}

/** What the head of a page of scans tells that can be read. */
export interface ScansHead extends ToldByHead {
  readonly kind: 'scans';
  readonly second: number | null;
}

/** The head of a page of scans that `readPage` understands, else null. */
export function readScansHead(head: Uint8Array): ScansHead | null {
  const told = readPageHead(head);
  const { kind, probes, scans } = told;
  if (kind !== 'scans' || probes === 0 || probes > PROBES_MAX || !hasRoomFor(scans, probes)) return null;
  return { ...told, kind, second: secondOf(head) };
}

export function readPageHead(head: Uint8Array): ToldByHead {
  const isScans = kindOf(head) === LOG_KINDS.scans;
  const boardMs = littleEndian(head, 10, 4);
  const periodMs = isScans ? periodOf(head) : 0;
  const scans = isScans ? (head[18] ?? 0) : 0;
  return {
    kind: isScans ? 'scans' : 'table',
    setsLow: (head[7] ?? 0) >> LOG_SETS_SHIFT,
    table: head[17] ?? 0,
    probes: (head[7] ?? 0) & PROBES_MASK,
    boardMs,
    periodMs,
    lastMs: boardMs + Math.max(0, scans - 1) * periodMs,
    firstScan: littleEndian(head, 14, 3),
    scans,
  };
}

const hasRoomFor = (scans: number, probes: number): boolean =>
  LOG_HEADER_BYTES + scans * scanBytesOf(probes) <= LOG_PAGE_BYTES;

const scanBytesOf = (probes: number): number => Math.ceil((probes * VALUE_BITS) / 8);

const secondOf = (page: Uint8Array): number | null => {
  const second = (page[19] ?? 0) >> 4;
  return second === 0 ? null : second - 1;
};

/** From scan to scan, ms. */
const periodOf = (page: Uint8Array): number => (PERIOD_SECONDS_MIN + ((page[19] ?? 0) & 0x0f)) * 1000;

/**
 * Reads a page whose check sum is right (`isPage`). Null for a page that contradicts itself: it is kept as it is, and not
 * understood.
 */
export function readPage(bytes: Uint8Array): ScansPage | TablePage | null {
  const kind = kindOf(bytes);
  const head: PageHead = {
    page: littleEndian(bytes, 2, 3),
    unacknowledged: littleEndian(bytes, 5, 2),
    boot: littleEndian(bytes, 8, 2),
    table: bytes[17] ?? 0,
    probes: (bytes[7] ?? 0) & PROBES_MASK,
  };
  if (head.probes > PROBES_MAX) return null;
  if (kind === LOG_KINDS.scans) return scansPage(head, bytes);
  return tablePage(head, bytes);
}

function scansPage(head: PageHead, bytes: Uint8Array): ScansPage | null {
  const first = { boardMs: littleEndian(bytes, 10, 4), scan: littleEndian(bytes, 14, 3) };
  const count = bytes[18] ?? 0;
  const periodMs = periodOf(bytes);
  const scanBytes = scanBytesOf(head.probes);
  if (head.probes === 0 || !hasRoomFor(count, head.probes)) return null;
  return {
    kind: 'scans',
    ...head,
    second: secondOf(bytes),
    scans: Array.from({ length: count }, (_, index) => {
      const start = LOG_HEADER_BYTES + index * scanBytes;
      return {
        scan: first.scan + index,
        boardMs: boardMs((first.boardMs + index * periodMs) % BOARD_MS_WRAP),
        values: Array.from({ length: head.probes }, (_value, at) => reading(value12(bytes, start, at))),
      };
    }),
  };
}

/** Whether two states are of one and the same page: one of them may have been read while it was still growing. */
export function isSamePage(one: Uint8Array, other: Uint8Array): boolean {
  const isScans = kindOf(one) === LOG_KINDS.scans;
  const scanBytes = scanBytesOf((one[7] ?? 0) & PROBES_MASK);
  const common = LOG_HEADER_BYTES + Math.min(one[18] ?? 0, other[18] ?? 0) * scanBytes;
  const end = isScans ? common : LOG_PAGE_BYTES;
  // The check sum, how many pages nobody has acknowledged, and of scans how many there are change as a page grows.
  const may = (at: number) => at < 2 || at === 5 || at === 6 || (isScans && at === 18);
  for (let at = 0; at < end; at += 1) if (one[at] !== other[at] && !may(at)) return false;
  return true;
}

/** What a page that comes is to one that is kept under its number. */
export type PageState = 'kept' | 'later' | 'other';

/** A later state of a page has more scans on it; an earlier one tells nothing new, and a page of another log is another page. */
export function stateOf(kept: Uint8Array, come: Uint8Array): PageState {
  if (!isSamePage(kept, come)) return 'other';
  const isScans = kindOf(come) === LOG_KINDS.scans;
  return isScans && (come[18] ?? 0) > (kept[18] ?? 0) ? 'later' : 'kept';
}

/** Two values in three bytes, most significant bits first. */
function value12(bytes: Uint8Array, start: number, index: number): number {
  const at = start + Math.floor(index / 2) * 3;
  const byte = (offset: number) => bytes[at + offset] ?? 0;
  return index % 2 === 0 ? (byte(0) << 4) | (byte(1) >> 4) : ((byte(1) & 0x0f) << 8) | byte(2);
}

function reading(value: number): LoggedScan['values'][number] {
  if ((value & ~STATUS_MASK) !== LOG_STATUS) return { raw: (value << 20) >> 20, status: 'ok' };
  const status = statuses.get(value & STATUS_MASK);
  return status === undefined || status === 'ok' ? null : { raw: null, status };
}

/** The board that wrote a table page, by its first 31 bytes. */
export const boardOfTable = (head: Uint8Array): BoardId | null =>
  parseBoardId(toHex(littleEndian(head, 20, 4), 8));

/** How often the clock had been set by a table page, by its first 31 bytes and its last; null before protocol version 3. */
export const setsOfTable = (head: Uint8Array, last: number): number | null =>
  (head[30] ?? 0) >= TELLS_SETS_FROM ? last : null;

function tablePage(head: PageHead, bytes: Uint8Array): TablePage | null {
  const letter = (at: number) => String.fromCharCode(bytes[at] ?? 0);
  const board = boardOfTable(bytes);
  const clock = clocks.get(letter(28));
  const resetCause = causes.get(letter(29));
  const seconds = littleEndian(bytes, 24, 4);
  const first = bytes[18] ?? 0;
  const count = bytes[19] ?? 0;
  if (board === null || !clock || !resetCause || count > LOG_ROMS_PER_PAGE || first + count > head.probes)
    return null;
  const roms: { index: number; rom: RomId }[] = [];
  for (let at = 0; at < count; at += 1) {
    const offset = LOG_ROMS_OFFSET + at * ROM_BYTES;
    const pairs = [...bytes.subarray(offset, offset + ROM_BYTES)].map((byte) => toHex(byte, 2));
    const rom = parseRomId(pairs.join('-'));
    if (rom === null) return null;
    roms.push({ index: first + at, rom });
  }
  return {
    kind: 'table',
    ...head,
    boardMs: boardMs(littleEndian(bytes, 10, 4)),
    board,
    utc: seconds === 0 ? null : utcMs(seconds * 1000),
    clock,
    sets: setsOfTable(bytes, bytes[LOG_SETS_OFFSET] ?? 0),
    resetCause,
    nextScan: littleEndian(bytes, 14, 3),
    roms,
  };
}
