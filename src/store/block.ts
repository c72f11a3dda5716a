import { crc32 } from 'node:zlib';
import type { BoardId, RomId } from '../units/ids.js';
import type { UtcMs } from '../units/time.js';
import { decodeColumn, encodeColumn, readVarint, writeVarint } from './columnCode.js';
import type { StoredReading } from './readingShelf.js';

/**
 * A block: the readings of one probe, in one boot of one board and one hour of UTC, as they were recorded, in order of
 * time, then of arrival. It tells by itself what it is, and equal readings give equal bytes: no general compressor is
 * used, whose next version might write others.
 *
 * Bytes: "SWB", version 1; ROM id (8), board id (4); varints: boot, the hour (in hours since 1970), readings; the number
 * of status words and each with its length before it (UTF-8); for each column of `COLUMNS` its length (varint) and its
 * code (`columnCode.ts`); CRC-32 of all that (4, lowest byte first).
 */
export interface Block {
  readonly rom: RomId;
  readonly board: BoardId;
  readonly boot: number;
  /** When its hour begins. */
  readonly hour: UtcMs;
  readonly count: number;
  /** The status words that occur. */
  readonly words: readonly string[];
  /** Reads one column; the others cost nothing. */
  column(name: ColumnName): Float64Array;
  readings(): StoredReading[];
}

/**
 * `kind` is twice the place of the status word, and one more when the board had no value; `raw` repeats the one before then.
 * `boardMs` is told by what must be added to give `utc`: that hardly ever changes.
 */
export const COLUMNS = ['utc', 'raw', 'kind', 'id', 'scan', 'slotIndex', 'boardToUtc'] as const;
export type ColumnName = (typeof COLUMNS)[number];

export const HOUR_MS = 3_600_000;
const MAGIC = Buffer.from('SWB', 'latin1');
const VERSION = 1;
const ROM_BYTES = 8;
const BOARD_BYTES = 4;
const CRC_BYTES = 4;

/** A block that cannot be read, and why. */
export class DamagedBlock extends Error {
  override readonly name = 'DamagedBlock';
}

export const hourOf = (utc: UtcMs): UtcMs => (Math.floor(utc / HOUR_MS) * HOUR_MS) as UtcMs;

/**
 * The bytes of a block.
 *
 * @param readings of one probe, boot and hour, in any order, at least one
 * @throws {RangeError} when they are not of one probe, boot and hour, or a number in them is no whole one
 */
export function encodeBlock(readings: readonly StoredReading[]): Uint8Array {
  const sorted = [...readings].sort((a, b) => a.utc - b.utc || a.id - b.id);
  const first = sorted[0];
  if (first === undefined) throw new RangeError('a block needs a reading');
  const { rom, board, boot } = first;
  const hour = hourOf(first.utc);
  if (sorted.some((r) => r.rom !== rom || r.board !== board || r.boot !== boot || hourOf(r.utc) !== hour))
    throw new RangeError('a block is of one probe, one boot and one hour');
  const words = [...new Set(sorted.map(({ status }) => status))];
  const columns: Readonly<Record<ColumnName, number[]>> = {
    utc: sorted.map(({ utc }) => utc),
    raw: carriedOn(sorted.map(({ raw }) => raw)),
    kind: sorted.map(({ status, raw }) => words.indexOf(status) * 2 + (raw === null ? 1 : 0)),
    id: sorted.map(({ id }) => id),
    scan: sorted.map(({ scan }) => scan),
    slotIndex: sorted.map(({ slotIndex }) => slotIndex),
    boardToUtc: sorted.map(({ utc, boardMs }) => utc - boardMs),
  };
  const head: number[] = [
    ...MAGIC,
    VERSION,
    ...Buffer.from(rom.replaceAll('-', ''), 'hex'),
    ...Buffer.from(board, 'hex'),
  ];
  for (const value of [boot, hour / HOUR_MS, sorted.length, words.length]) writeVarint(head, value);
  for (const word of words) {
    const text = Buffer.from(word, 'utf8');
    writeVarint(head, text.length);
    head.push(...text);
  }
  const parts: Uint8Array[] = [Uint8Array.from(head)];
  for (const name of COLUMNS) {
    const code = encodeColumn(columns[name]);
    const length: number[] = [];
    writeVarint(length, code.length);
    parts.push(Uint8Array.from(length), code);
  }
  const body = Buffer.concat(parts);
  const end = Buffer.alloc(CRC_BYTES);
  end.writeUInt32LE(crc32(body));
  return Buffer.concat([body, end]);
}

/** A column with its holes filled by the number before, which takes the fewest bits. */
function carriedOn(values: readonly (number | null)[]): number[] {
  let last = 0;
  return values.map((value) => {
    last = value ?? last;
    return last;
  });
}

/** Reads a block's head. @throws {DamagedBlock} when it is none, is of a later version, or a byte of it was changed */
export function openBlock(bytes: Uint8Array): Block {
  const body = bytes.subarray(0, Math.max(0, bytes.length - CRC_BYTES));
  const told = Buffer.from(bytes.buffer, bytes.byteOffset + body.length, bytes.length - body.length);
  if (told.length < CRC_BYTES || told.readUInt32LE() !== crc32(body))
    throw new DamagedBlock('its check sum is wrong');
  if (!MAGIC.every((byte, index) => body[index] === byte)) throw new DamagedBlock('it is no block');
  if (body[MAGIC.length] !== VERSION)
    throw new DamagedBlock(`it is of version ${body[MAGIC.length]}, which a newer stillwarm wrote`);
  let at = MAGIC.length + 1;
  const hex = (length: number) => {
    const text = Buffer.from(body.subarray(at, at + length))
      .toString('hex')
      .toUpperCase();
    at += length;
    return text;
  };
  const varint = () => {
    const { value, next } = readVarint(body, at);
    at = next;
    return value;
  };
  const rom = hex(ROM_BYTES).match(/../g)!.join('-') as RomId;
  const board = hex(BOARD_BYTES) as BoardId;
  const [boot, hours, count, wordCount] = [varint(), varint(), varint(), varint()];
  const words = Array.from({ length: wordCount }, () => {
    const length = varint();
    const text = Buffer.from(body.subarray(at, at + length)).toString('utf8');
    at += length;
    return text;
  });
  const starts = new Map<ColumnName, number>();
  for (const name of COLUMNS) {
    const length = varint();
    starts.set(name, at);
    at += length;
  }
  const column = (name: ColumnName) => decodeColumn(bytes, starts.get(name)!, count);
  return {
    rom,
    board,
    boot,
    hour: (hours * HOUR_MS) as UtcMs,
    count,
    words,
    column,
    readings() {
      const [utc, raw, kind, id, scan, slotIndex, boardToUtc] = COLUMNS.map(column) as [
        Float64Array,
        Float64Array,
        Float64Array,
        Float64Array,
        Float64Array,
        Float64Array,
        Float64Array,
      ];
      return Array.from(utc, (at, index): StoredReading => {
        const what = kind[index]!;
        return {
          id: id[index]!,
          rom,
          board,
          boot,
          scan: scan[index]!,
          slotIndex: slotIndex[index]!,
          boardMs: (at - boardToUtc[index]!) as StoredReading['boardMs'],
          utc: at as UtcMs,
          raw: what % 2 === 1 ? null : raw[index]!,
          status: words[Math.floor(what / 2)]!,
        };
      });
    },
  };
}
