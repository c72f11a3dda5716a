import type { Rejected } from '../exposure/trustworthy.js';
import { trustworthy } from '../exposure/trustworthy.js';
import type { Observation } from '../exposure/types.js';
import type { StoredReading } from '../store/store.js';
import type { BoardId, RomId } from '../units/ids.js';
import type { Celsius } from '../units/temperature.js';
import type { UtcMs } from '../units/time.js';

/** What one board read of all its probes at one moment, uncorrected. */
export interface Scan {
  readonly at: UtcMs;
  readonly board: BoardId;
  readonly values: ReadonlyMap<RomId, Celsius | Rejected>;
}

/** Puts readings together again that belong to one scan. They come in lines, several boards in turn. */
export class ScanGatherer {
  readonly #pending = new Map<BoardId, { key: string; scan: Scan; values: Map<RomId, Celsius | Rejected> }>();

  /** Takes readings in order of arrival and gives the scans that are whole because the next one has begun. */
  add(readings: readonly StoredReading[]): Scan[] {
    const whole: Scan[] = [];
    for (const { board, boot, scan: number, utc, rom, status, raw } of readings) {
      const key = `${boot} ${number}`;
      const before = this.#pending.get(board);
      if (before && before.key !== key) whole.push(before.scan);
      const current = before?.key === key ? before : this.#begin(board, key, utc);
      current.values.set(rom, trustworthy(status, raw));
    }
    return whole;
  }

  /** Gives what has been taken of the last scans: nothing more of them is coming. */
  flush(): Scan[] {
    const scans = [...this.#pending.values()].map(({ scan }) => scan);
    this.#pending.clear();
    return scans;
  }

  get isHolding(): boolean {
    return this.#pending.size > 0;
  }

  #begin(board: BoardId, key: string, at: UtcMs) {
    const values = new Map<RomId, Celsius | Rejected>();
    const current = { key, scan: { at, board, values }, values };
    this.#pending.set(board, current);
    return current;
  }
}

/** The readings of each probe so far, those that are to be trusted, in the order of the scans. */
export class ProbeTraces {
  readonly byProbe = new Map<RomId, Observation[]>();
  /** By which board each probe was read last. */
  readonly boards = new Map<RomId, BoardId>();

  add({ at, board, values }: Scan): void {
    for (const [rom, celsius] of values) {
      const trace = this.byProbe.get(rom) ?? [];
      this.byProbe.set(rom, trace);
      this.boards.set(rom, board);
      if (typeof celsius === 'number') trace.push({ at, celsius });
    }
  }
}
