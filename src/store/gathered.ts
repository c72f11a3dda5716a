import type { BoardId, RomId } from '../units/ids.js';
import { Refusal } from '../units/refusal.js';
import { formatInstant, type UtcMs, utcMs } from '../units/time.js';
import { type Block, DamagedBlock, encodeBlock, HOUR_MS, hourOf, openBlock } from './block.js';
import { CHAIN_ORIGIN, chainHash } from './chain.js';
import { type Chain, mergedFacts } from './chains.js';
import { factFromJson, type RecordedFact } from './facts.js';
import { brokenGathered } from './gatheredCheck.js';
import { READINGS, type ReadingRow, type StoredReading, toReading } from './readingShelf.js';
import { hasTable } from './schema.js';
import type { Sqlite } from './sqlite.js';

/** One fact of a chain as it is kept: its canonical line, and the hash over the one before and it. */
export interface Link {
  readonly seq: number;
  readonly line: string;
  readonly hash: string;
}

/** A reading, with the store that recorded it and how it is proven. */
export interface ProvenReading {
  readonly store: string;
  /** The supplement of the sealed block that it is in; null while nothing proves it. */
  readonly sealed: number | null;
  readonly reading: StoredReading;
}

/** Another store's readings of one probe, boot and hour that are in one sealed block, or in none, as they are kept. */
export interface GatherableBlock {
  readonly rom: RomId;
  readonly board: BoardId;
  readonly boot: number;
  readonly hour: UtcMs;
  /** The supplement of the sealed block; null when none proves them. */
  readonly sealed: number | null;
  readonly readings: number;
  readonly bytes: Uint8Array;
}

/** Made before a store is asked to take it: that takes long, and whoever else writes would wait. */
export function gatherableBlock(sealed: number | null, readings: readonly StoredReading[]): GatherableBlock {
  const { rom, board, boot, utc } = readings[0]!;
  const bytes = encodeBlock(readings);
  return { rom, board, boot, hour: hourOf(utc), sealed, readings: readings.length, bytes };
}

/** How far a chain has come. */
export interface ChainHead {
  readonly store: string;
  readonly facts: number;
  readonly head: string;
}

/**
 * What was gathered from other stores: their chains as they are, beside the store's own, and their readings. Nothing of it
 * is ever changed; a chain only grows.
 */
export interface Gathered {
  /** The id that the first fact gave this store. */
  storeId(): string;
  /** The facts of this store and of all gathered ones, as those of one chain (`mergedFacts`). */
  everyFact(): RecordedFact[];
  /** The store's own chain, then the gathered ones. */
  chains(): { readonly store: string; readonly links: readonly Link[] }[];
  /** How far each of them has come; cheap. */
  chainHeads(): ChainHead[];
  /** What this store and gathered ones recorded of a probe in an hour, in order of time, store and arrival. */
  provenReadings(rom: RomId, hour: UtcMs): ProvenReading[];
  /** What of the gathered chains and their sealed readings is not as it was taken in, a sentence each. */
  brokenGathered(): string[];
  /**
   * Takes links of another store's chain that go on where what is known of it ends; gives how many were new.
   *
   * @throws {Refusal} when the chain is another one than what is known of it
   */
  gatherChain(store: string, links: readonly Link[]): number;
  /**
   * Takes another store's readings; gives how many were new. Its chain must be known.
   *
   * @throws {Refusal} when others are known in their place
   */
  gatherBlock(store: string, block: GatherableBlock): number;
}

/** The part of an hour that no block had sealed. */
const LOOSE = -1;

interface BlockRow {
  store: string;
  part: number;
  bytes: ArrayBuffer;
}

export function gathered(sqlite: Sqlite): Gathered {
  const storeId = (): string => {
    const first = sqlite.get<{ line: string }>('SELECT line FROM facts WHERE seq = 1');
    const fact = first === undefined ? null : factFromJson(first.line).fact;
    return fact?.type === 'store-created' ? fact.store : '';
  };
  const links = (table: 'facts' | 'gathered_facts', where: string, ...values: number[]): Link[] =>
    sqlite.all<Link & object>(`SELECT seq, line, hash FROM ${table} ${where} ORDER BY seq`, ...values);
  const others = (): { number: number; store: string }[] =>
    hasGathered(sqlite) ? sqlite.all('SELECT number, store FROM gathered_chains ORDER BY number') : [];
  const numberOf = (store: string): number | undefined =>
    sqlite.get<{ number: number }>('SELECT number FROM gathered_chains WHERE store = ?', store)?.number;

  return {
    storeId,
    everyFact: () =>
      sqlite.snapshot(() => {
        const read = (line: Link) => factFromJson(line.line);
        const own: Chain = { store: storeId(), number: 0, facts: links('facts', '').map(read) };
        const gathered = others().map(({ number, store }) => ({
          store,
          number,
          facts: links('gathered_facts', 'WHERE chain = ?', number).map(read),
        }));
        return mergedFacts([own, ...gathered]);
      }),
    chains: () =>
      sqlite.snapshot(() => [
        { store: storeId(), links: links('facts', '') },
        ...others().map(({ number, store }) => ({
          store,
          links: links('gathered_facts', 'WHERE chain = ?', number),
        })),
      ]),

    chainHeads: () =>
      sqlite.snapshot(() => {
        const last = (table: string, where: string, ...values: number[]) =>
          sqlite.get<{ facts: number; head: string }>(
            `SELECT seq AS facts, hash AS head FROM ${table} ${where} ORDER BY seq DESC LIMIT 1`,
            ...values,
          ) ?? { facts: 0, head: CHAIN_ORIGIN };
        return [
          { store: storeId(), ...last('facts', '') },
          ...others().map(({ number, store }) => ({
            store,
            ...last('gathered_facts', 'WHERE chain = ?', number),
          })),
        ];
      }),

    provenReadings: (rom, hour) =>
      sqlite.snapshot(() => {
        const own = storeId();
        const rows = sqlite
          .all<ReadingRow>(
            `${READINGS} WHERE p.rom = ? AND r.utc_ms >= ? AND r.utc_ms < ?`,
            rom,
            hour,
            hour + HOUR_MS,
          )
          .map((row): ProvenReading => ({ store: own, sealed: null, reading: toReading(row) }));
        const sealed = sqlite
          .all<{ part: number; bytes: ArrayBuffer }>(
            `SELECT supplement AS part, bytes FROM blocks
             WHERE probe = (SELECT id FROM probes WHERE rom = ?) AND hour_ms = ?`,
            rom,
            hour,
          )
          .map((block) => ({ ...block, store: own }));
        const others = hasGathered(sqlite)
          ? sqlite.all<BlockRow>(
              `SELECT c.store, b.part, b.bytes FROM gathered_blocks b JOIN gathered_chains c ON c.number = b.chain
               WHERE b.rom = ? AND b.hour_ms = ?`,
              rom,
              hour,
            )
          : [];
        const kept = [...sealed, ...others].flatMap(({ store, part, bytes }) =>
          (openedOrNull(bytes)?.readings() ?? []).map(
            (reading): ProvenReading => ({ store, sealed: part === LOOSE ? null : part, reading }),
          ),
        );
        return [...kept, ...rows].sort(byTimeStoreAndArrival);
      }),

    brokenGathered: () =>
      sqlite.snapshot(() =>
        brokenGathered(
          sqlite,
          others().map((each) => ({
            ...each,
            links: links('gathered_facts', 'WHERE chain = ?', each.number),
          })),
        ),
      ),

    gatherChain(store, incoming) {
      const known = numberOf(store);
      const number =
        known ??
        1 +
          (sqlite.get<{ last: number | null }>('SELECT MAX(number) AS last FROM gathered_chains')?.last ?? 0);
      if (known === undefined)
        sqlite.run('INSERT INTO gathered_chains (number, store) VALUES (?, ?)', number, store);
      const before = new Map(
        links('gathered_facts', 'WHERE chain = ?', number).map((link) => [link.seq, link]),
      );
      refuseOtherChain(store, before, incoming);
      const added = incoming.filter(({ seq }) => !before.has(seq));
      let hash = before.get(before.size)?.hash ?? CHAIN_ORIGIN;
      for (const link of added) {
        hash = chainHash(hash, link.line);
        sqlite.run(
          'INSERT INTO gathered_facts (chain, seq, line, hash) VALUES (?, ?, ?, ?)',
          number,
          link.seq,
          link.line,
          hash,
        );
      }
      return added.length;
    },

    gatherBlock(store, block) {
      const chain = numberOf(store)!;
      const { rom, board, boot, hour, sealed } = block;
      const key = [chain, rom, board, boot, hour] as const;
      const parts = sqlite.all<{ part: number; bytes: ArrayBuffer }>(
        'SELECT part, bytes FROM gathered_blocks WHERE chain = ? AND rom = ? AND board = ? AND boot = ? AND hour_ms = ?',
        ...key,
      );
      const insert = (part: number, count: number, bytes: Uint8Array) =>
        sqlite.run(
          `INSERT INTO gathered_blocks (chain, rom, board, boot, hour_ms, part, readings, bytes)
           VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
          ...key,
          part,
          count,
          bytes,
        );
      if (parts.length === 0) {
        insert(sealed ?? LOOSE, block.readings, block.bytes);
        return block.readings;
      }
      const same = parts.find(({ part }) => part === (sealed ?? LOOSE));
      if (same !== undefined && Buffer.compare(new Uint8Array(same.bytes), block.bytes) === 0) return 0;
      const readings = openBlock(block.bytes).readings();
      const known = new Map(
        parts.flatMap(({ part, bytes }) =>
          openBlock(new Uint8Array(bytes))
            .readings()
            .map((reading) => [placeOf(reading), { part, reading }] as const),
        ),
      );
      for (const reading of readings) refuseOther(store, known.get(placeOf(reading))?.reading, reading);
      const put = (part: number, of: readonly StoredReading[]) => {
        sqlite.run(
          'DELETE FROM gathered_blocks WHERE chain = ? AND rom = ? AND board = ? AND boot = ? AND hour_ms = ? AND part = ?',
          ...key,
          part,
        );
        if (of.length > 0) insert(part, of.length, encodeBlock(of));
      };
      const added = readings.filter((reading) => !known.has(placeOf(reading)));
      const loose = [...known.values()].flatMap(({ part, reading }) => (part === LOOSE ? [reading] : []));
      if (sealed === null) {
        if (added.length > 0) put(LOOSE, [...loose, ...added]);
        return added.length;
      }
      if (!parts.some(({ part }) => part === sealed)) {
        put(sealed, readings);
        const now = new Set(readings.map(placeOf));
        put(
          LOOSE,
          loose.filter((reading) => !now.has(placeOf(reading))),
        );
      }
      return added.length;
    },
  };
}

const hasGathered = (sqlite: Sqlite): boolean => hasTable(sqlite, 'gathered_chains');

/** Gathered blocks of a probe with readings that may lie between two instants, in order of their hours. */
export function gatheredBlocks(sqlite: Sqlite, rom: RomId, from: UtcMs, to: UtcMs): Block[] {
  if (!hasGathered(sqlite)) return [];
  return sqlite
    .all<{ bytes: ArrayBuffer }>(
      'SELECT bytes FROM gathered_blocks WHERE rom = ? AND hour_ms BETWEEN ? AND ? ORDER BY hour_ms, chain, part',
      rom,
      hourOf(from),
      Number.isFinite(to) ? to : Number.MAX_SAFE_INTEGER,
    )
    .flatMap(({ bytes }) => openedOrNull(bytes) ?? []);
}

const openedOrNull = (bytes: ArrayBuffer): Block | null => {
  try {
    return openBlock(new Uint8Array(bytes));
  } catch (error) {
    if (error instanceof DamagedBlock) return null;
    throw error;
  }
};

const placeOf = ({ scan, slotIndex }: StoredReading): string => `${scan} ${slotIndex}`;

const byTimeStoreAndArrival = (a: ProvenReading, b: ProvenReading): number =>
  a.reading.utc - b.reading.utc ||
  (a.store < b.store ? -1 : a.store > b.store ? 1 : a.reading.id - b.reading.id);

/** Two chains of one store that part after a fact: a copy of it was worked on elsewhere. */
export function refuseOtherChain(
  store: string,
  known: ReadonlyMap<number, Link>,
  incoming: readonly Link[],
): void {
  for (const { seq, line } of incoming) {
    const there = known.get(seq);
    if (there !== undefined && there.line !== line)
      throw new Refusal(
        `the chain of store ${store} is another one from fact ${seq} on than the chain known of it here; two copies of that store were worked on, so nothing was gathered: keep to one of them, and enter in it what only the other has.`,
      );
  }
}

function refuseOther(store: string, known: StoredReading | undefined, reading: StoredReading): void {
  if (known === undefined) return;
  if ((Object.keys(reading) as (keyof StoredReading)[]).every((key) => known[key] === reading[key])) return;
  throw new Refusal(
    `store ${store} has two different readings ${reading.id} of probe ${reading.rom} at ${formatInstant(utcMs(reading.utc))}; nothing was gathered, check that bundle with bundle check.`,
  );
}
