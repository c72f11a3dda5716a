import type { RomId } from '../units/ids.js';
import { celsius } from '../units/temperature.js';
import { MS_PER_SECOND, type UtcMs } from '../units/time.js';
import { approach, PHYSICS } from './physics.js';
import { fixedErrorOf, peculiarityOf, randomErrorOf } from './probeError.js';
import type { Vehicle } from './scenario.js';

/** What probes are put into on a bench. Chosen, not measured: nothing outside this emulator may be concluded from it. */
export interface Medium {
  readonly celsius: number;
  /** Time constant of a probe in it, s. */
  readonly seconds: number;
  /** By how much that differs from probe to probe, either way, as a share; 0 when left out. */
  readonly secondsSpread?: number;
  /** How fast it warms, degrees a minute, from the moment the probes are put into it; 0 when left out. */
  readonly perMinute?: number;
  /** Layers that move: each probe feels a wave of its own phase, degrees either way; 0 when left out. */
  readonly waves?: number;
  /** What places in it differ by, degrees either way: a place belongs to a probe; 0 when left out. */
  readonly places?: number;
}

/** At a time, some probes are put into something. */
export interface BenchMove {
  readonly at: UtcMs;
  readonly roms: readonly RomId[];
  readonly into: Medium;
}

/** Period of the waves, s. */
const WAVE_SECONDS = 70;

/**
 * Probes on a bench, without cups. Everything begins in the first medium at rest; before the start the first
 * temperatures hold, after the end the last. Equal in every instance.
 *
 * @param moves in order of time; the first holds all probes
 */
export function createBench(run: {
  readonly start: UtcMs;
  readonly end: UtcMs;
  readonly moves: readonly BenchMove[];
  readonly seed: number;
}): Vehicle {
  const courses = new Map(run.moves[0]!.roms.map((rom) => [rom, courseOf(run, rom)]));
  return {
    probe(rom, at) {
      const course = courses.get(rom);
      if (!course) throw new RangeError(`no probe ${rom} on this bench`);
      const second = Math.min(Math.max((at - run.start) / MS_PER_SECOND, 0), course.length - 1);
      const before = Math.floor(second);
      const from = course[before]!;
      const felt = from + (course[Math.min(before + 1, course.length - 1)]! - from) * (second - before);
      return celsius(
        felt +
          fixedErrorOf(rom, PHYSICS.probeOffsetCelsiusMax) +
          randomErrorOf(run.seed, rom, at, PHYSICS.probeNoiseCelsiusMax),
      );
    },
    cup(cup) {
      throw new RangeError(`no cup ${cup} on this bench`);
    },
  };
}

/** A probe's own temperature, second by second. */
function courseOf(run: Parameters<typeof createBench>[0], rom: RomId): Float64Array {
  const moves = run.moves.filter(({ roms }) => roms.includes(rom));
  const course = new Float64Array(Math.ceil((run.end - run.start) / MS_PER_SECOND) + 1);
  let body = felt(moves[0]!, rom, run.start);
  let done = 0;
  for (let second = 0; second < course.length; second += 1) {
    const at = (run.start + second * MS_PER_SECOND) as UtcMs;
    while (done + 1 < moves.length && moves[done + 1]!.at <= at) done += 1;
    const { into } = moves[done]!;
    const share = peculiarityOf(rom, 'lag', into.secondsSpread ?? 0);
    course[second] = body;
    body = approach(body, felt(moves[done]!, rom, at), 1, into.seconds * (1 + share));
  }
  return course;
}

/** What a probe would come to where it is. */
function felt({ at: since, into }: BenchMove, rom: RomId, at: UtcMs): number {
  const seconds = (at - since) / MS_PER_SECOND;
  const phase = peculiarityOf(rom, 'phase', Math.PI);
  return (
    into.celsius +
    ((into.perMinute ?? 0) * seconds) / 60 +
    (into.waves ?? 0) * Math.sin((2 * Math.PI * seconds) / WAVE_SECONDS + phase) +
    peculiarityOf(rom, 'place', into.places ?? 0)
  );
}
