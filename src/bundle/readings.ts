import { HOUR_MS, hourOf } from '../store/block.js';
import type { ProvenReading } from '../store/gathered.js';
import { UNPLACED } from '../store/logShelf.js';
import type { RomId } from '../units/ids.js';
import { formatInstant, type UtcMs, utcMs } from '../units/time.js';
import type { Row } from './column.js';
import { type OffsetAt, usable } from './judging.js';
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

/**
 * Gives every reading that a bundle tells, by probe, then in order of time.
 *
 * @param shiftMs by how much the times of the rows are earlier than those of the store
 */
export function eachReading(
  hours: ReadonlyMap<string, readonly UtcMs[]>,
  readingsOf: ReadingsOf,
  offsetAt: OffsetAt,
  shiftMs: number,
  take: (told: ProvenReading, at: UtcMs, offset: number) => void,
): void {
  // It is shifted by whole days: hours stay hours.
  for (const [probe, of] of hours)
    for (const hour of of)
      for (const told of readingsOf(probe as RomId, utcMs(hour + shiftMs))) {
        // Its time, and so its hour, may still change.
        if (told.reading.status === UNPLACED) continue;
        const at = utcMs(told.reading.utc - shiftMs);
        take(told, at, offsetAt(probe, at));
      }
}
