import { DEFAULT_RULES, rulesToJson } from '../../src/exposure/ruleSet.js';
import type { Fact } from '../../src/store/facts.js';
import type { Store, StoredReading } from '../../src/store/store.js';
import {
  crc8,
  parseBoardId,
  parseCarrierId,
  parseRomId,
  parseVisitId,
  parseYardCode,
} from '../../src/units/ids.js';
import { boardMs, utcMs } from '../../src/units/time.js';
import { foldSeason } from '../../src/visit/season.js';
import { label, minute, OPENED } from '../visit/situation.js';

/** A cup of an invented yard; what is left out is as in most cups. */
export interface InventedCup {
  readonly tray?: number | null;
  readonly wash?: number | null;
  readonly bees?: number | null;
  readonly colony?: string | null;
  readonly kind?: 'strip' | 'no-strip';
  readonly lot?: string | null;
  /** By the minute since the visit was opened. */
  readonly celsius?: (minute: number) => number;
  /** Null when it is still exposed. */
  readonly turned?: number | null;
  /** Between these minutes nothing is read. */
  readonly silent?: readonly [number, number];
}

export interface InventedYard {
  readonly yard: string;
  readonly cups: readonly InventedCup[];
  /** Cups declared at the opening; none when it is left out. */
  readonly declared?: number;
  readonly zone?: string;
}

/** Where all that is recorded has happened. */
export const AFTERWARDS = minute(600);

const BOARD = parseBoardId('0A1B2C3D')!;

function romOf(serial: number) {
  const bytes = [0x28, serial & 255, serial >> 8, 0x0c, 0x3a, 0, 0];
  return parseRomId([...bytes, crc8(bytes)].map((byte) => byte.toString(16).padStart(2, '0')).join('-'))!;
}

/**
 * Puts yards with their cups and a reading a minute of each into a store: cups are named by yard and number, loaded and
 * seated one minute apart, and turned after 180 min.
 */
export function inventYards(store: Store, yards: readonly InventedYard[], period = 1): void {
  yards.forEach(({ yard, cups, declared = null, zone = 'Etc/UTC' }, y) => {
    const visit = parseVisitId(yard)!;
    const carrier = parseCarrierId(String.fromCharCode(65 + y))!;
    const facts: Fact[] = [
      {
        type: 'visit-opened',
        visit,
        yard: parseYardCode(yard)!,
        zone,
        at: OPENED,
        active: 'amitraz strip',
        lot: 'L7',
        declaredCups: declared,
        rules: rulesToJson(DEFAULT_RULES),
      },
    ];
    const rows: Omit<StoredReading, 'id'>[] = [];
    cups.forEach((cup, c) => {
      const name = label(`${yard.slice(0, 3)}-${String(c + 1).padStart(2, '0')}`);
      const rom = romOf(1 + y * 64 + c);
      const load = 1 + c;
      const turn = cup.turned === undefined ? load + 180 : cup.turned;
      const strip = cup.kind !== 'no-strip';
      facts.push(
        { type: 'probe-assigned', carrier, slot: c + 1, rom, at: OPENED },
        {
          type: 'cup-loaded',
          visit,
          cup: name,
          kind: cup.kind ?? 'strip',
          active: strip ? 'amitraz strip' : null,
          lot: strip ? (cup.lot === undefined ? 'L7' : cup.lot) : null,
          colony: cup.colony === undefined ? `c${c + 1}` : cup.colony,
          group: null,
          at: minute(load),
        },
        { type: 'cup-seated', cup: name, carrier, slot: c + 1, at: minute(load) },
        ...(turn === null ? [] : [{ type: 'cup-turned', cup: name, at: minute(turn) } as const]),
      );
      const counts = {
        tray: cup.tray ?? null,
        wash: cup.wash ?? null,
        bees: cup.bees === undefined ? 300 : cup.bees,
      };
      if (turn !== null) facts.push({ type: 'cup-counted', cup: name, at: minute(300), ...counts });
      for (let at = 0, scan = 0; at <= (turn ?? load + 180) + 1; at += period, scan += 1) {
        if (cup.silent !== undefined && at > cup.silent[0] && at < cup.silent[1]) continue;
        rows.push({
          rom,
          board: BOARD,
          boot: 1,
          scan: y * 100_000 + scan,
          slotIndex: c,
          boardMs: boardMs(scan),
          utc: utcMs(Math.round(OPENED + at * 60_000)),
          raw: Math.round((cup.celsius ?? (() => 30))(at) * 16),
          status: 'ok',
        });
      }
    });
    // Recorded as it happened: nothing of it is late.
    const inOrder = facts.toSorted((a, b) => a.at - b.at);
    store.transaction(() => {
      store.addReadings(rows);
      for (const fact of inOrder) store.append(fact.at, fact);
    });
  });
}

/** Visits of a store in the order in which they were opened. */
export function visitsIn(store: Store) {
  const season = foldSeason(store.facts());
  return { season, visits: [...season.visits.values()] };
}

/** Cups of so many mites, so many of which fell, a colony each. */
export const cupsWith = (...mites: readonly (readonly [tray: number, wash: number])[]): InventedCup[] =>
  mites.map(([tray, wash]) => ({ tray, wash }));
