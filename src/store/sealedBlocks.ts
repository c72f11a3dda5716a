import type { BoardId, RomId } from '../units/ids.js';
import type { UtcMs } from '../units/time.js';
import { type Block, DamagedBlock, hourOf, openBlock } from './block.js';
import { gatheredBlocks } from './gathered.js';
import { hasTable } from './schema.js';
import type { Sqlite } from './sqlite.js';

/** The sealed blocks of a store, opened. One that cannot be read is left out; `brokenBlocks` names it. */
export interface SealedBlocks {
  /** Those of a probe with readings that may lie between two instants, own ones and gathered ones, each in order of their hours. */
  ofProbe(rom: RomId, from: UtcMs, to: UtcMs): Block[];
  /** The latest hour of which there are blocks of a probe, of those that begin before an instant; null when there is none. */
  lastHour(rom: RomId, before: UtcMs): UtcMs | null;
  ofBoot(board: BoardId, boot: number): Block[];
  /** Those of a boot that may hold this scan, or one from it to another, with an id of their own each. */
  aroundScan(board: BoardId, boot: number, scan: number, to?: number): SealedRow[];
  /** Those that hold readings after the one numbered `after`, and begin at or before `upTo`. */
  arrived(after: number, upTo: number): SealedRow[];
  /** The last id of the block that is the `nth` to end after the one numbered `after`; Infinity when there are not so many. */
  endOf(nth: number, after: number): number;
  /** How many readings are sealed, and the highest id and the latest time among them. */
  totals(): { readonly readings: number; readonly id: number; readonly utc: number };
}

export interface SealedRow {
  readonly id: number;
  readonly firstId: number;
  readonly readings: number;
  /** Null when it cannot be read. */
  open(): Block | null;
}

interface Row {
  id: number;
  first_id: number;
  readings: number;
  bytes: ArrayBuffer;
}

const COLUMNS = 'b.id, b.first_id, b.readings, b.bytes';
const PROBE = '(SELECT id FROM probes WHERE rom = ?)';
const EPOCH = '(SELECT id FROM epochs WHERE board = ? AND boot = ?)';

export function sealedBlocks(sqlite: Sqlite): SealedBlocks {
  let isThere = false;
  const hasBlocks = () => {
    isThere ||= hasTable(sqlite, 'blocks');
    return isThere;
  };
  const rows = (where: string, ...values: (string | number)[]): SealedRow[] =>
    hasBlocks()
      ? sqlite.all<Row>(`SELECT ${COLUMNS} FROM blocks b WHERE ${where}`, ...values).map(toSealed)
      : [];
  const opened = (from: readonly SealedRow[]) => from.flatMap((row) => row.open() ?? []);
  return {
    ofProbe: (rom, from, to) => [
      ...opened(
        rows(
          `b.probe = ${PROBE} AND b.hour_ms BETWEEN ? AND ? ORDER BY b.hour_ms, b.id`,
          rom,
          hourOf(from),
          to,
        ),
      ),
      ...gatheredBlocks(sqlite, rom, from, to),
    ],
    lastHour: (rom, before) =>
      (hasBlocks()
        ? sqlite.get<{ hour: UtcMs | null }>(
            `SELECT MAX(hour_ms) AS hour FROM blocks WHERE probe = ${PROBE} AND hour_ms < ?`,
            rom,
            before,
          )?.hour
        : undefined) ?? null,
    ofBoot: (board, boot) => opened(rows(`b.epoch = ${EPOCH} ORDER BY b.id`, board, boot)),
    aroundScan: (board, boot, scan, to = scan) =>
      rows(`b.epoch = ${EPOCH} AND b.last_scan >= ? AND b.first_scan <= ?`, board, boot, scan, to),
    arrived: (after, upTo) =>
      rows('b.last_id > ? AND b.first_id <= ?', after, Math.min(upTo, Number.MAX_SAFE_INTEGER)),
    endOf: (nth, after) =>
      (hasBlocks()
        ? sqlite.get<{ last_id: number }>(
            'SELECT last_id FROM blocks WHERE last_id > ? ORDER BY last_id LIMIT 1 OFFSET ?',
            after,
            nth,
          )?.last_id
        : undefined) ?? Number.POSITIVE_INFINITY,
    totals() {
      const row = hasBlocks()
        ? sqlite.get<{ readings: number | null; id: number | null; hour: number | null }>(
            'SELECT SUM(readings) AS readings, MAX(last_id) AS id, MAX(hour_ms) AS hour FROM blocks',
          )
        : undefined;
      if (row?.id == null || row.hour === null) return { readings: 0, id: 0, utc: Number.NEGATIVE_INFINITY };
      const last = opened(rows('b.hour_ms = ?', row.hour));
      const utc = last.reduce(
        (latest, block) => Math.max(latest, block.column('utc').at(-1) ?? latest),
        row.hour,
      );
      return { readings: row.readings ?? 0, id: row.id, utc };
    },
  };
}

function toSealed({ id, first_id: firstId, readings, bytes }: Row): SealedRow {
  return {
    id,
    firstId,
    readings,
    open() {
      try {
        return openBlock(new Uint8Array(bytes));
      } catch (error) {
        if (error instanceof DamagedBlock) return null;
        throw error;
      }
    },
  };
}
