import type { BoardId, RomId } from '../units/ids.js';
import type { BoardMs, UtcMs } from '../units/time.js';
import type { Block } from './block.js';
import { type SealedRow, sealedBlocks } from './sealedBlocks.js';
import type { Sqlite } from './sqlite.js';

/** A reading as it is kept: what the board said, and when. */
export interface StoredReading {
  /** Grows in order of arrival. */
  readonly id: number;
  readonly rom: RomId;
  readonly board: BoardId;
  readonly boot: number;
  readonly scan: number;
  readonly slotIndex: number;
  readonly boardMs: BoardMs;
  readonly utc: UtcMs;
  readonly raw: number | null;
  readonly status: string;
}

/** Readings of one probe with status `ok` and a value, as columns of equal length in order of time, then of arrival. */
export interface Track {
  readonly utc: Float64Array;
  /** Sixteenths of a degree Celsius. */
  readonly raw: Float64Array;
}

/** The readings, fresh ones (rows) and sealed ones (blocks) alike: nobody who asks need know which is which. */
export interface ReadingShelf {
  readingCount(): number;
  /** Adds readings; those already there (same board, boot, scan and slot index) are left as they are. */
  addReadings(readings: readonly Omit<StoredReading, 'id'>[]): void;
  /** The readings of one probe with `from` <= utc <= `to`, in order of time. */
  readings(rom: RomId, from: UtcMs, to: UtcMs): StoredReading[];
  /** What `readings` gives and a ruling can use, without an object for each. */
  track(rom: RomId, from: UtcMs, to: UtcMs): Track;
  /** The readings that arrived after the one numbered `id`, at most `limit`. */
  readingsAfter(id: number, limit: number): StoredReading[];
  /** Number of the reading that arrived last, and the latest time of any; null when there is none. */
  newestReading(): { id: number; utc: UtcMs } | null;
}

export interface ReadingRow {
  id: number;
  rom: string;
  board: string;
  boot: number;
  scan: number;
  slot_index: number;
  board_ms: number;
  utc_ms: number;
  raw: number | null;
  status: string;
}

export const READINGS = `SELECT r.id, p.rom, e.board, e.boot, r.scan, r.slot_index, r.board_ms, r.utc_ms, r.raw, r.status
  FROM readings r JOIN probes p ON p.id = r.probe JOIN epochs e ON e.id = r.epoch`;

export const toReading = (row: ReadingRow): StoredReading => ({
  id: row.id,
  rom: row.rom as RomId,
  board: row.board as BoardId,
  boot: row.boot,
  scan: row.scan,
  slotIndex: row.slot_index,
  boardMs: row.board_ms as BoardMs,
  utc: row.utc_ms as UtcMs,
  raw: row.raw,
  status: row.status,
});

/**
 * Readings as one JSON text, probes and epochs by their numbers: the driver makes an object of each row it gives, which takes
 * more than twice as long; the mirror reads hundreds of thousands in a row, and a screen all that it holds once a minute.
 */
const LISTED = `SELECT json_group_array(
    json_array(id, probe, epoch, scan, slot_index, board_ms, utc_ms, raw, status)) AS list FROM`;
const LISTED_AFTER = `${LISTED} (SELECT * FROM readings WHERE id > ? ORDER BY id LIMIT ?)`;
const OF_PROBE =
  'FROM readings WHERE probe = (SELECT id FROM probes WHERE rom = ?) AND utc_ms BETWEEN ? AND ?';
const LISTED_OF_PROBE = `${LISTED} (SELECT * ${OF_PROBE} ORDER BY utc_ms, id)`;
const TRACK_OF_PROBE = `SELECT json_group_array(json_array(utc_ms, raw)) AS list
  FROM (SELECT utc_ms, raw ${OF_PROBE} AND status = 'ok' AND raw IS NOT NULL ORDER BY utc_ms, id)`;

type Listed = [number, number, number, number, number, BoardMs, UtcMs, number | null, string];

/** A list of readings in three statements, whatever its length: each call of the driver costs as much as the row it writes. */
const INSERTS: readonly string[] = [
  `INSERT INTO epochs (board, boot) SELECT value ->> 0, value ->> 1 FROM json_each(?)
    WHERE true ON CONFLICT DO NOTHING`,
  `INSERT INTO probes (rom) SELECT value ->> 2 FROM json_each(?) WHERE true ON CONFLICT DO NOTHING`,
  `INSERT INTO readings (epoch, probe, scan, slot_index, board_ms, utc_ms, raw, status)
    SELECT (SELECT id FROM epochs WHERE board = value ->> 0 AND boot = value ->> 1),
           (SELECT id FROM probes WHERE rom = value ->> 2),
           value ->> 3, value ->> 4, value ->> 5, value ->> 6, value ->> 7, value ->> 8
    FROM json_each(?) ORDER BY key ON CONFLICT (epoch, scan, slot_index) DO NOTHING`,
];

/** Blocks of a probe-hour each have some 360 readings; looked at so many more at a time. */
const READINGS_PER_BLOCK = 200;
const BLOCKS_AT_ONCE_MIN = 16;

export function readingShelf(sqlite: Sqlite): ReadingShelf {
  const sealed = sealedBlocks(sqlite);
  // What these numbers stand for never changes.
  const romOf = remembered(
    (id) => sqlite.get<{ rom: RomId }>('SELECT rom FROM probes WHERE id = ?', id)!.rom,
  );
  const epochOf = remembered(
    (id) => sqlite.get<{ board: BoardId; boot: number }>('SELECT board, boot FROM epochs WHERE id = ?', id)!,
  );
  const listed = <T>(sql: string, ...values: (string | number)[]): T[] =>
    JSON.parse(sqlite.get<{ list: string }>(sql, ...values)!.list) as T[];
  const listedReadings = (sql: string, ...values: (string | number)[]): StoredReading[] =>
    listed<Listed>(sql, ...values).map(([id, probe, epoch, scan, slotIndex, boardMs, utc, raw, status]) => {
      const { board, boot } = epochOf(epoch);
      return { id, rom: romOf(probe), board, boot, scan, slotIndex, boardMs, utc, raw, status };
    });

  const readings = (rom: RomId, from: UtcMs, to: UtcMs): StoredReading[] =>
    sqlite.snapshot(() => {
      const inOrder = (a: StoredReading, b: StoredReading) => a.utc - b.utc || a.id - b.id;
      const rows = listedReadings(LISTED_OF_PROBE, rom, from, to).sort(inOrder);
      const kept = sealed.ofProbe(rom, from, to).flatMap((block) => block.readings());
      if (kept.length === 0) return rows;
      const inside = kept.filter(({ utc }) => utc >= from && utc <= to);
      return [...inside, ...rows].sort(inOrder);
    });

  return {
    readingCount: () =>
      sqlite.snapshot(
        () =>
          sqlite.get<{ count: number }>('SELECT COUNT(*) AS count FROM readings')!.count +
          sealed.totals().readings,
      ),

    addReadings(added) {
      const isSealed = sealedScans(sealed.aroundScan);
      const rows = added
        .filter((reading) => !isSealed(reading))
        .map((r) => [r.board, r.boot, r.rom, r.scan, r.slotIndex, r.boardMs, r.utc, r.raw, r.status]);
      if (rows.length === 0) return;
      const list = JSON.stringify(rows);
      for (const insert of INSERTS) sqlite.run(insert, list);
    },

    readings,

    track: (rom, from, to) =>
      sqlite.snapshot(() => {
        const rows = listed<[utc: number, raw: number]>(TRACK_OF_PROBE, rom, from, to);
        const inOrder = tracked(sealed.ofProbe(rom, from, to), rows, from, to);
        if (inOrder !== null) return inOrder;
        const usable = readings(rom, from, to).filter(({ status, raw }) => status === 'ok' && raw !== null);
        return {
          utc: Float64Array.from(usable, ({ utc }) => utc),
          raw: Float64Array.from(usable, ({ raw }) => raw!),
        };
      }),

    readingsAfter: (id, limit) =>
      sqlite.snapshot(() => {
        const rows = listedReadings(LISTED_AFTER, id, limit).sort((a, b) => a.id - b.id);
        const opened = new Map<number, readonly StoredReading[]>();
        const contents = (row: SealedRow) => {
          const known = opened.get(row.id) ?? row.open()?.readings() ?? [];
          opened.set(row.id, known);
          return known;
        };
        // Blocks of many probes overlap: all that begin before `end` are put in order, until there are enough.
        for (let most = BLOCKS_AT_ONCE_MIN + Math.ceil(limit / READINGS_PER_BLOCK); ; most *= 2) {
          const end = sealed.endOf(most, id);
          const kept = sealed.arrived(id, end).flatMap(contents);
          const all = kept.length === 0 ? rows : [...kept, ...rows].sort((a, b) => a.id - b.id);
          const found = all.filter((reading) => reading.id > id && reading.id <= end).slice(0, limit);
          if (found.length === limit || end === Number.POSITIVE_INFINITY) return found;
        }
      }),

    newestReading: () =>
      sqlite.snapshot(() => {
        const row = sqlite.get<{ id: number | null; utc: number | null }>(
          'SELECT max(id) AS id, max(utc_ms) AS utc FROM readings',
        );
        const { id, utc } = sealed.totals();
        const newest = Math.max(id, row?.id ?? 0);
        return newest === 0 ? null : { id: newest, utc: Math.max(utc, row?.utc ?? utc) as UtcMs };
      }),
  };
}

/** A lookup that asks once for each number. */
function remembered<T>(find: (id: number) => T): (id: number) => T {
  const known = new Map<number, T>();
  return (id) => {
    const found = known.get(id) ?? find(id);
    known.set(id, found);
    return found;
  };
}

/** A test of whether a reading is in a sealed block; looks into each block once. */
function sealedScans(aroundScan: (board: BoardId, boot: number, scan: number) => SealedRow[]) {
  const blocks = new Map<number, ReadonlySet<string>>();
  const key = (scan: number, slotIndex: number) => `${scan} ${slotIndex}`;
  const contents = (row: SealedRow) => {
    const known = blocks.get(row.id);
    if (known !== undefined) return known;
    const block = row.open();
    const scans = block?.column('scan') ?? [];
    const slots = block?.column('slotIndex') ?? [];
    const found = new Set(Array.from(scans, (scan, index) => key(scan, slots[index]!)));
    blocks.set(row.id, found);
    return found;
  };
  let last: { readonly of: string; readonly around: SealedRow[] } | null = null;
  return ({ board, boot, scan, slotIndex }: Omit<StoredReading, 'id'>): boolean => {
    const of = `${board} ${boot} ${scan}`;
    if (last?.of !== of) last = { of, around: aroundScan(board, boot, scan) };
    return last.around.some((row) => contents(row).has(key(scan, slotIndex)));
  };
}

/** Puts the usable readings of blocks and rows into columns; null when they do not come in order of time by themselves. */
function tracked(
  blocks: readonly Block[],
  rows: readonly (readonly [utc: number, raw: number])[],
  from: UtcMs,
  to: UtcMs,
): Track | null {
  const most = blocks.reduce((sum, { count }) => sum + count, rows.length);
  const utc = new Float64Array(most);
  const raw = new Float64Array(most);
  let length = 0;
  let last = Number.NEGATIVE_INFINITY;
  let isInOrder = true;
  const take = (at: number, value: number) => {
    if (at <= last) isInOrder = false;
    last = at;
    utc[length] = at;
    raw[length] = value;
    length += 1;
  };
  for (const block of blocks) {
    const ok = block.words.indexOf('ok') * 2;
    if (ok < 0) continue;
    const [times, values, kinds] = [block.column('utc'), block.column('raw'), block.column('kind')];
    for (let index = 0; index < times.length; index += 1) {
      const at = times[index]!;
      if (at >= from && at <= to && kinds[index] === ok) take(at, values[index]!);
    }
  }
  for (const [at, value] of rows) take(at, value);
  return isInOrder ? { utc: utc.subarray(0, length), raw: raw.subarray(0, length) } : null;
}
