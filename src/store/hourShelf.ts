import type { RomId } from '../units/ids.js';
import type { UtcMs } from '../units/time.js';
import { DamagedBlock, HOUR_MS, hourOf, openBlock } from './block.js';
import { hasTable } from './schema.js';
import type { Sqlite } from './sqlite.js';

/** An hour of UTC in which a probe has readings. */
export interface ProbeHour {
  readonly hour: UtcMs;
  /** How many readings there are in all of it. */
  readonly readings: number;
}

/**
 * Where readings are, this store's and gathered ones: for whoever goes through many of them, an hour of a probe at a time
 * (`provenReadings`).
 */
export interface HourShelf {
  /** Every probe that ever had a reading, in order of ROM id. */
  probes(): RomId[];
  /** The hours in which a probe may have readings between two instants, in order. */
  hours(rom: RomId, from: UtcMs, to: UtcMs): ProbeHour[];
  /** How many of the blocks of that hour cannot be read: what they hold is missing from every answer. */
  unreadableBlocks(rom: RomId, hour: UtcMs): number;
}

const PROBE = '(SELECT id FROM probes WHERE rom = ?)';

export function hourShelf(sqlite: Sqlite): HourShelf {
  /** What there is of them: a store of an earlier version that is only read lacks the later ones. */
  const tables = () =>
    [
      { name: 'blocks', probe: `probe = ${PROBE}` },
      { name: 'gathered_blocks', probe: 'rom = ?' },
    ].filter(({ name }) => hasTable(sqlite, name));
  return {
    probes: () =>
      sqlite.snapshot(() => {
        const own = sqlite.all<{ rom: RomId }>('SELECT rom FROM probes');
        const others = tables().some(({ name }) => name === 'gathered_blocks')
          ? sqlite.all<{ rom: RomId }>('SELECT DISTINCT rom FROM gathered_blocks')
          : [];
        return [...new Set([...own, ...others].map(({ rom }) => rom))].sort();
      }),

    hours: (rom, from, to) =>
      sqlite.snapshot(() => {
        const found = new Map<UtcMs, number>();
        const add = ({ hour, readings }: ProbeHour) => found.set(hour, (found.get(hour) ?? 0) + readings);
        for (const { name, probe } of tables())
          sqlite
            .all<ProbeHour>(
              `SELECT hour_ms AS hour, readings FROM ${name} WHERE ${probe} AND hour_ms BETWEEN ? AND ?`,
              rom,
              hourOf(from),
              to,
            )
            .forEach(add);
        sqlite
          .all<ProbeHour>(
            `SELECT utc_ms - (utc_ms % ${HOUR_MS} + ${HOUR_MS}) % ${HOUR_MS} AS hour, COUNT(*) AS readings
             FROM readings WHERE probe = ${PROBE} AND utc_ms BETWEEN ? AND ? GROUP BY hour`,
            rom,
            from,
            to,
          )
          .forEach(add);
        return [...found].sort(([a], [b]) => a - b).map(([hour, readings]) => ({ hour, readings }));
      }),

    unreadableBlocks: (rom, hour) =>
      sqlite.snapshot(
        () =>
          tables()
            .flatMap(({ name, probe }) =>
              sqlite.all<{ bytes: ArrayBuffer }>(
                `SELECT bytes FROM ${name} WHERE ${probe} AND hour_ms = ?`,
                rom,
                hour,
              ),
            )
            .filter(({ bytes }) => !isReadable(bytes)).length,
      ),
  };
}

function isReadable(bytes: ArrayBuffer): boolean {
  try {
    openBlock(new Uint8Array(bytes));
    return true;
  } catch (error) {
    if (error instanceof DamagedBlock) return false;
    throw error;
  }
}
