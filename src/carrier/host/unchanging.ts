import type { RomId } from '../../units/ids.js';
import { type DurationMs, durationMs, minutes } from '../../units/time.js';
import type { Value } from './hostBoard.js';

/** A probe that gives the same sixteenths for this long while a neighbour moves is not measuring (j). */
export const UNCHANGING_AFTER: DurationMs = minutes(30);
/** How far a neighbour must have moved meanwhile, sixteenths of a degree: 1 °C (j). */
export const NEIGHBOUR_MOVED = 16;
/** The same sixteenths for this long are no measurement whatever the neighbours do (j). */
export const UNCHANGING_ALONE_AFTER: DurationMs = minutes(180);

/** Unread for longer, as while the computer slept, nobody knows whether it changed meanwhile. */
const UNREAD_MAX: DurationMs = minutes(5);

interface Run {
  readonly raw: number;
  readonly since: number;
  last: number;
  isUnchanging: boolean;
  /** The lowest and the highest that each neighbour read since. */
  readonly neighbours: Map<RomId, { lowest: number; highest: number }>;
}

/** Finds probes whose value never changes: a driver or a chip may give out one value for ever, each time with a right CRC. */
export interface UnchangingWatch {
  /**
   * The value as it counts: `unchanging` while its probe is taken for stuck.
   *
   * @param at when it was read, on any clock that never jumps, milliseconds
   */
  look(value: Value, at: number): Value;
}

/** @param say takes one sentence when a probe is taken for stuck, and one when it is no longer */
export function unchangingWatch(say: (sentence: string) => void): UnchangingWatch {
  const runs = new Map<RomId, Run>();
  /** Probes that were read last time: the first value after an absence may be of long ago. */
  const steady = new Set<RomId>();

  const tellNeighbours = (rom: RomId, raw: number) => {
    for (const [other, { neighbours }] of runs) {
      if (other === rom) continue;
      const { lowest, highest } = neighbours.get(rom) ?? { lowest: raw, highest: raw };
      neighbours.set(rom, { lowest: Math.min(lowest, raw), highest: Math.max(highest, raw) });
    }
  };

  return {
    look(value, at) {
      const { rom, raw, status } = value;
      if (status !== 'ok' || raw === null) {
        steady.delete(rom);
        return value;
      }
      if (steady.has(rom)) tellNeighbours(rom, raw);
      steady.add(rom);
      const run = runs.get(rom);
      if (run === undefined || run.raw !== raw || (!run.isUnchanging && at - run.last > UNREAD_MAX)) {
        if (run?.isUnchanging) say(`probe ${rom} changes again; its values count from now on`);
        runs.set(rom, { raw, since: at, last: at, isUnchanging: false, neighbours: new Map() });
        return value;
      }
      run.last = at;
      const lasts = durationMs(at - run.since);
      if (!run.isUnchanging && isStuck(run, lasts)) {
        run.isUnchanging = true;
        say(
          `probe ${rom} has read ${raw / 16} °C and nothing else for ${Math.floor(lasts / 60_000)} min; from now on its values are no observations until they change: look at the probe, and do not rely on its cup since then`,
        );
      }
      return run.isUnchanging ? { ...value, status: 'unchanging' } : value;
    },
  };
}

const isStuck = ({ neighbours }: Run, lasts: DurationMs): boolean =>
  lasts >= UNCHANGING_ALONE_AFTER ||
  (lasts >= UNCHANGING_AFTER &&
    [...neighbours.values()].some(({ lowest, highest }) => highest - lowest >= NEIGHBOUR_MOVED));
