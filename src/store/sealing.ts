import { createHash } from 'node:crypto';
import type { BoardId } from '../units/ids.js';
import { formatInstant, type UtcMs } from '../units/time.js';
import { DamagedBlock, encodeBlock, HOUR_MS, hourOf, openBlock } from './block.js';
import { type Fact, factFromJson } from './facts.js';
import { UNPLACED } from './logShelf.js';
import { READINGS, type ReadingRow, type StoredReading, toReading } from './readingShelf.js';
import { hasTable } from './schema.js';
import type { Sqlite } from './sqlite.js';

/** What sealing came to: the readings of one hour of one boot. */
export interface Sealed {
  readonly board: BoardId;
  readonly boot: number;
  readonly hour: UtcMs;
  readonly blocks: number;
  readonly readings: number;
}

/** A block that is not what its fact says, in words. */
export interface BrokenBlock {
  /** Which one: probe, hour, boot. */
  readonly block: string;
  readonly why: string;
}

/**
 * Fresh readings are rows; those of a finished hour are put into blocks, one a probe and boot (`block.ts`), and their
 * SHA-256 into a fact. What comes late for an hour that was sealed is a row again, and then a block beside the others,
 * a supplement: no block is ever written anew. Readings that nobody can place in time yet are left out, because their
 * times will change; those of all others never do.
 */
export interface Sealing {
  /** Number of the last reading that ever came; 0 when none did. */
  lastReading(): number;
  /**
   * Seals the oldest hour of one boot that had ended by `endedBy`, if its readings are all numbered up to `arrivedBy`. Blocks,
   * fact and the end of the rows are one transaction: whatever ends the process, each reading is there once.
   *
   * @throws {Error} when a block would not give back what went in; then nothing has changed
   */
  sealOldest(endedBy: UtcMs, arrivedBy: number, now: UtcMs): Sealed | null;
  /** Holds every block against its fact. Reads all of them. */
  brokenBlocks(): BrokenBlock[];
  /** How many blocks have other bytes than were sealed, or are gone: quicker, for no block and no fact is opened. */
  changedBlocks(): number;
}

type HourSealed = Extract<Fact, { type: 'hour-sealed' }>;

export function sealing(sqlite: Sqlite, append: (recorded: UtcMs, fact: Fact) => void): Sealing {
  return {
    lastReading: () =>
      sqlite.get<{ seq: number }>("SELECT seq FROM sqlite_sequence WHERE name = 'readings'")?.seq ?? 0,
    sealOldest(endedBy, arrivedBy, now) {
      if (oldestHour(sqlite, endedBy) === null) return null;
      return sqlite.immediate(() => {
        const hour = oldestHour(sqlite, endedBy);
        if (hour === null) return null;
        const group = boots(inHour(sqlite, hour)).find((each) => each.every(({ id }) => id <= arrivedBy));
        return group === undefined ? null : seal(sqlite, group, hour, now, append);
      });
    },
    brokenBlocks: () => sqlite.snapshot(() => brokenBlocks(sqlite)),
    changedBlocks: () => sqlite.snapshot(() => changedBlocks(sqlite)),
  };
}

const FRESH = `FROM readings WHERE probe = ? AND utc_ms < ? AND status <> '${UNPLACED}'`;

/** The first hour that has ended and still has rows. */
function oldestHour(sqlite: Sqlite, endedBy: UtcMs): UtcMs | null {
  const before = hourOf(endedBy);
  const oldest = sqlite.all<{ id: number }>('SELECT id FROM probes').flatMap(({ id }) => {
    const row = sqlite.get<{ utc_ms: number }>(`SELECT utc_ms ${FRESH} ORDER BY utc_ms LIMIT 1`, id, before);
    return row === undefined ? [] : [row.utc_ms];
  });
  return oldest.length === 0 ? null : hourOf(Math.min(...oldest) as UtcMs);
}

const inHour = (sqlite: Sqlite, hour: UtcMs): StoredReading[] =>
  sqlite
    .all<ReadingRow>(
      `${READINGS} WHERE r.probe IN (SELECT id FROM probes) AND r.utc_ms >= ? AND r.utc_ms < ? AND r.status <> ?`,
      hour,
      hour + HOUR_MS,
      UNPLACED,
    )
    .map(toReading);

const boots = (readings: readonly StoredReading[]): StoredReading[][] =>
  grouped(readings, ({ board, boot }) => `${board} ${boot}`);

function grouped(readings: readonly StoredReading[], key: (r: StoredReading) => string): StoredReading[][] {
  const groups = new Map<string, StoredReading[]>();
  for (const reading of readings) {
    const group = groups.get(key(reading));
    if (group === undefined) groups.set(key(reading), [reading]);
    else group.push(reading);
  }
  return [...groups].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, group]) => group);
}

function seal(
  sqlite: Sqlite,
  group: readonly StoredReading[],
  hour: UtcMs,
  now: UtcMs,
  append: (recorded: UtcMs, fact: Fact) => void,
): Sealed {
  const { board, boot } = group[0]!;
  const epoch = sqlite.get<{ id: number }>(
    'SELECT id FROM epochs WHERE board = ? AND boot = ?',
    board,
    boot,
  )!.id;
  const supplement = sqlite.get<{ next: number }>(
    'SELECT COALESCE(MAX(supplement) + 1, 0) AS next FROM blocks WHERE epoch = ? AND hour_ms = ?',
    epoch,
    hour,
  )!.next;
  const blocks = grouped(group, ({ rom }) => rom).map((readings) => {
    const bytes = encodeBlock(readings);
    refuseUnequal(readings, bytes);
    const [ids, scans] = [readings.map(({ id }) => id), readings.map(({ scan }) => scan)];
    sqlite.run(
      `INSERT INTO blocks (probe, epoch, hour_ms, supplement, first_id, last_id, first_scan, last_scan, readings, bytes)
       VALUES ((SELECT id FROM probes WHERE rom = ?), ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
      readings[0]!.rom,
      epoch,
      hour,
      supplement,
      Math.min(...ids),
      Math.max(...ids),
      Math.min(...scans),
      Math.max(...scans),
      readings.length,
      bytes,
    );
    return { rom: readings[0]!.rom, readings: readings.length, hash: sha256(bytes) };
  });
  const gone = sqlite.run(
    `DELETE FROM readings WHERE epoch = ? AND probe IN (SELECT id FROM probes) AND utc_ms >= ? AND utc_ms < ? AND status <> ?`,
    epoch,
    hour,
    hour + HOUR_MS,
    UNPLACED,
  );
  if (gone !== group.length) throw new Error(`${gone} rows would go for ${group.length} sealed readings`);
  append(now, { type: 'hour-sealed', board, boot, supplement, blocks, at: hour });
  return { board, boot, hour, blocks: blocks.length, readings: group.length };
}

const sha256 = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex');

/** Readings leave their rows only when the block gives them back as they were. */
function refuseUnequal(readings: readonly StoredReading[], bytes: Uint8Array): void {
  const byId = new Map(
    openBlock(bytes)
      .readings()
      .map((each) => [each.id, each]),
  );
  for (const reading of readings) {
    const back = byId.get(reading.id);
    const isSame =
      back !== undefined &&
      (Object.keys(reading) as (keyof StoredReading)[]).every((key) => back[key] === reading[key]);
    if (!isSame) throw new Error(`reading ${reading.id} of probe ${reading.rom} does not fit into a block`);
  }
  if (byId.size !== readings.length) throw new Error('a block would hold other readings than it was given');
}

interface BlockRow {
  rom: string;
  board: string;
  boot: number;
  hour_ms: number;
  supplement: number;
  first_id: number;
  last_id: number;
  first_scan: number;
  last_scan: number;
  readings: number;
  bytes: ArrayBuffer;
}

const nameOf = (rom: string, board: string, boot: number, hour: UtcMs, supplement: number): string =>
  `probe ${rom}, hour ${formatInstant(hour)}, board ${board}, boot ${boot}${supplement === 0 ? '' : `, supplement ${supplement}`}`;

const SEALED_LINES = `SELECT line FROM facts WHERE line LIKE '%"type":"hour-sealed"%' ORDER BY seq`;

function changedBlocks(sqlite: Sqlite): number {
  const told = new Set(
    sqlite
      .all<{ line: string }>(SEALED_LINES)
      .flatMap(({ line }) => [...line.matchAll(/"hash":"([0-9a-f]{64})"/g)].map(([, hash]) => hash!)),
  );
  const blocks = hasTable(sqlite, 'blocks')
    ? sqlite.all<{ bytes: ArrayBuffer }>('SELECT bytes FROM blocks')
    : [];
  const strange = blocks.filter(({ bytes }) => !told.delete(sha256(new Uint8Array(bytes)))).length;
  return Math.max(strange, told.size);
}

function brokenBlocks(sqlite: Sqlite): BrokenBlock[] {
  const told = new Map<string, HourSealed['blocks'][number]>();
  for (const { line } of sqlite.all<{ line: string }>(SEALED_LINES)) {
    const { fact } = factFromJson(line);
    if (fact.type !== 'hour-sealed') continue;
    for (const block of fact.blocks)
      told.set(nameOf(block.rom, fact.board, fact.boot, fact.at, fact.supplement), block);
  }
  const rows = hasTable(sqlite, 'blocks')
    ? sqlite.all<BlockRow>(
        `SELECT p.rom, e.board, e.boot, b.hour_ms, b.supplement, b.first_id, b.last_id, b.first_scan, b.last_scan,
           b.readings, b.bytes
         FROM blocks b LEFT JOIN probes p ON p.id = b.probe LEFT JOIN epochs e ON e.id = b.epoch ORDER BY b.id`,
      )
    : [];
  const broken: BrokenBlock[] = [];
  for (const row of rows) {
    const block = nameOf(row.rom, row.board, row.boot, row.hour_ms as UtcMs, row.supplement);
    const fact = told.get(block);
    told.delete(block);
    const why = fact === undefined ? 'no fact tells of it' : whatIsWrong(row, fact);
    if (why !== null) broken.push({ block, why });
  }
  for (const block of told.keys()) broken.push({ block, why: 'it is gone' });
  return broken;
}

function whatIsWrong(row: BlockRow, fact: HourSealed['blocks'][number]): string | null {
  const bytes = new Uint8Array(row.bytes);
  try {
    const block = openBlock(bytes);
    if (sha256(bytes) !== fact.hash) return 'it is not the one that was sealed';
    const [ids, scans] = [block.column('id'), block.column('scan')];
    const isIndexed =
      block.count === row.readings &&
      fact.readings === row.readings &&
      row.first_id === Math.min(...ids) &&
      row.last_id === Math.max(...ids) &&
      row.first_scan === Math.min(...scans) &&
      row.last_scan === Math.max(...scans) &&
      block.rom === row.rom &&
      block.board === row.board &&
      block.boot === row.boot &&
      block.hour === row.hour_ms;
    return isIndexed ? null : 'what the store says of it is not what it holds';
  } catch (error) {
    if (error instanceof DamagedBlock) return error.message;
    throw error;
  }
}
