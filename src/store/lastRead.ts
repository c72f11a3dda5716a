import type { BoardId, RomId } from '../units/ids.js';
import { type UtcMs, utcMs } from '../units/time.js';
import { type SealedBlocks, sealedBlocks } from './sealedBlocks.js';
import type { Sqlite } from './sqlite.js';

/** When a probe was last read, by which board, whatever that reading was worth. */
export interface LastRead {
  readonly rom: RomId;
  readonly board: BoardId;
  readonly utc: UtcMs;
}

export interface LastReadings {
  /** Of each probe its last reading that is placed in time; costs the same however long a store has been written to. */
  lastReadings(): LastRead[];
}

export function lastReadings(sqlite: Sqlite): LastReadings {
  const sealed = sealedBlocks(sqlite);
  return {
    lastReadings: () =>
      sqlite.snapshot(() =>
        sqlite.all<{ id: number; rom: RomId }>('SELECT id, rom FROM probes').flatMap(({ id, rom }) => {
          const fresh = sqlite.get<{ board: BoardId; utc: UtcMs }>(
            `SELECT e.board, r.utc_ms AS utc FROM readings r JOIN epochs e ON e.id = r.epoch
             WHERE r.probe = ? AND r.status <> 'unplaced' ORDER BY r.utc_ms DESC LIMIT 1`,
            id,
          );
          const kept = lastSealed(sealed, rom);
          if (fresh === undefined) return kept ?? [];
          return kept !== null && kept.utc > fresh.utc ? kept : { rom, board: fresh.board, utc: fresh.utc };
        }),
      ),
  };
}

/** The last placed reading of a probe in blocks, hour by hour from the latest: hours that nobody can place are passed over. */
function lastSealed(sealed: SealedBlocks, rom: RomId): LastRead | null {
  let hour = sealed.lastHour(rom, utcMs(Number.MAX_SAFE_INTEGER));
  while (hour !== null) {
    const placed = sealed
      .ofProbe(rom, hour, hour)
      .flatMap((block) => block.readings())
      .filter(({ status }) => status !== 'unplaced');
    const first = placed[0];
    if (first !== undefined) {
      const { board, utc } = placed.reduce((last, each) => (each.utc > last.utc ? each : last), first);
      return { rom, board, utc };
    }
    hour = sealed.lastHour(rom, hour);
  }
  return null;
}
