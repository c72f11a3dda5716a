import { HOUR_MS, hourOf } from '../store/block.js';
import type { ProvenReading } from '../store/gathered.js';
import { UNPLACED } from '../store/logShelf.js';
import type { RomId } from '../units/ids.js';
import { formatInstant, type UtcMs, utcMs } from '../units/time.js';
import type { Row } from './column.js';
import { type OffsetAt, usable } from './judging.js';
import { blockKey, type SealedHours } from './sealedHours.js';
import { BOARD_PREFIX, STORE_PREFIX } from './tables.js';

/** The hours of which a bundle has all readings, by probe: those that an exposure with a seating of it touches. */
export function hoursToTell(
  exposures: readonly Row[],
  seatings: readonly Row[],
): ReadonlyMap<string, readonly UtcMs[]> {
  const byCup = new Map(exposures.map((row) => [row['cup'], row]));
  const hours = new Map<string, Set<UtcMs>>();
  for (const seating of seatings) {
    const exposure = byCup.get(seating['cup']!)!;
    const probe = seating['probe'] as string;
    const of = hours.get(probe) ?? new Set<UtcMs>();
    hours.set(probe, of);
    const from = utcMs((exposure['load_utc'] as number) - (exposure['load_within_ms'] as number));
    const to = utcMs((exposure['end_utc'] as number) + (exposure['turn_within_ms'] as number));
    for (let hour = hourOf(from); hour <= to; hour = utcMs(hour + HOUR_MS)) of.add(hour);
  }
  return new Map(
    [...hours]
      .sort(([a], [b]) => (a < b ? -1 : 1))
      .map(([probe, of]) => [probe, [...of].sort((a, b) => a - b)]),
  );
}

/** A temperature of the table, rounded to this many decimals; rulings are made from the raw value. */
const DECIMALS = 10_000;

/** The cells of a reading as text, in the order of the table's columns; none of them ever needs quotes. */
export function readingCells({ store, sealed, reading }: ProvenReading, at: UtcMs, offset: number): string[] {
  const { rom, raw, status } = reading;
  const used = usable(status, raw, offset);
  return [
    rom,
    formatInstant(at),
    raw === null ? '' : String(roundedCelsius(raw, offset)),
    used === null ? 'false' : 'true',
    raw === null ? '' : String(raw),
    status,
    STORE_PREFIX + store,
    BOARD_PREFIX + reading.board,
    String(reading.boot),
    String(reading.scan),
    String(reading.slotIndex),
    String(reading.boardMs),
    String(reading.id),
    sealed === null ? '' : String(sealed),
  ];
}

/** The temperature of a raw value less the offset of its probe, as the table tells it. */
export const roundedCelsius = (raw: number, offset: number): number => {
  const value = Math.round((raw / 16 - offset) * DECIMALS) / DECIMALS;
  return value === 0 ? 0 : value;
};

/** Where readings come from: hour by hour of each probe. */
export type ReadingsOf = (rom: RomId, hour: UtcMs) => readonly ProvenReading[];

/** A reading as a bundle tells it. */
export interface Told {
  readonly told: ProvenReading;
  readonly at: UtcMs;
  /** What its probe read too much then. */
  readonly offset: number;
}

/**
 * Gives every reading that a bundle tells, by probe, then in order of time, those of an hour at once.
 *
 * @param sealed says what the chains of the bundle prove: an hour that was sealed since they were read is told as unsealed
 * @param shiftMs by how much the times of the rows are earlier than those of the store
 */
export function* readingsToTell(
  hours: ReadonlyMap<string, readonly UtcMs[]>,
  readingsOf: ReadingsOf,
  sealed: SealedHours,
  offsetAt: OffsetAt,
  shiftMs: number,
): Generator<readonly Told[]> {
  // It is shifted by whole days: hours stay hours.
  for (const [probe, of] of hours)
    for (const hour of of) {
      const isProven = provenIn(sealed, probe, utcMs(hour + shiftMs));
      yield readingsOf(probe as RomId, utcMs(hour + shiftMs)).flatMap((told): Told | [] => {
        // Its time, and so its hour, may still change.
        if (told.reading.status === UNPLACED) return [];
        const at = utcMs(told.reading.utc - shiftMs);
        return { told: isProven(told) ? told : { ...told, sealed: null }, at, offset: offsetAt(probe, at) };
      });
    }
}

/** Asks once for the readings of a block that stand together. */
function provenIn(sealed: SealedHours, rom: string, hour: UtcMs): (told: ProvenReading) => boolean {
  let last: ProvenReading | null = null;
  let isProven = true;
  return (told) => {
    const { store, sealed: part, reading } = told;
    if (part === null) return true;
    const isSame =
      last?.sealed === part &&
      last.store === store &&
      last.reading.boot === reading.boot &&
      last.reading.board === reading.board;
    if (!isSame) {
      last = told;
      isProven = sealed.has(blockKey(rom, hour, store, reading.board, reading.boot, part));
    }
    return isProven;
  };
}
