import type { BoardMs, DurationMs, UtcMs } from '../units/time.js';

/**
 * How fast a board's counter runs against UTC. A quartz crystal is good to some 30 millionths; the ceramic resonator that
 * many small boards carry instead is up to 0.5 % off and changes with the temperature, which is minutes in a day alone.
 */
export interface TimePair {
  readonly boardMs: BoardMs;
  readonly utc: UtcMs;
  /** How far `utc` may be wrong, either way. */
  readonly within: DurationMs;
  readonly by: 'host' | 'clock';
}

export interface Pace {
  /** UTC per board time. */
  readonly rate: number;
  /** How far `rate` may be wrong, either way. */
  readonly within: number;
}

/** What is left of a quartz crystal's pace once it is known: temperature and age. Common practice, no source. */
export const CRYSTAL_WANDERS = 30e-6;
/** The same of a ceramic resonator between a cold morning and a hot box. Common practice, no source. */
export const RESONATOR_WANDERS = 1000e-6;
/** What a temperature-compensated clock chip may gain or lose: data sheets give 2 to 5 millionths. Common practice, no source. */
export const CHIP_WANDERS = 5e-6;
/** A pace further off than this is no crystal's. */
export const CRYSTAL_OFF_MAX = 100e-6;
/** A board whose pace nobody has measured may carry a resonator. */
export const UNMEASURED: Pace = { rate: 1, within: 5000e-6 };

interface Measured {
  readonly rate: number;
  /** What the pairs leave open of it. */
  readonly error: number;
}

/** What a boot's first pair and its last come to; null when they tell nothing. */
function measured(pairs: readonly TimePair[]): Measured | null {
  const sorted = [...pairs].sort((a, b) => a.boardMs - b.boardMs);
  const first = sorted[0];
  const last = sorted.at(-1);
  if (first === undefined || last === undefined || first.boardMs === last.boardMs) return null;
  const elapsed = last.boardMs - first.boardMs;
  const rate = (last.utc - first.utc) / elapsed;
  const error = (first.within + last.within) / elapsed;
  // No oscillator runs so: the counter came round, or a pair is wrong.
  return Math.abs(rate - 1) > UNMEASURED.within + error ? null : { rate, error };
}

/** The pace between the first and the last of a boot's pairs, and how far it may be other before and after them. */
export function measuredPace(pairs: readonly TimePair[]): Pace {
  const found = measured(pairs);
  if (found === null) return UNMEASURED;
  const { rate, error } = found;
  const isCrystal = Math.abs(rate - 1) + error <= CRYSTAL_OFF_MAX;
  const within = Math.max(error, isCrystal ? CRYSTAL_WANDERS : RESONATOR_WANDERS);
  return within < UNMEASURED.within ? { rate: possible(rate), within } : UNMEASURED;
}

/** The pace that is nearest to this one and that a board may have. */
const possible = (rate: number): number =>
  Math.min(UNMEASURED.rate + UNMEASURED.within, Math.max(UNMEASURED.rate - UNMEASURED.within, rate));

/** The better known of two paces, the first if they are equally well known. */
const surer = (a: Pace, b: Pace): Pace => (b.within < a.within ? b : a);

/** The best known pace of a board, from the pairs of each of its boots, and from what was known before. */
export function bestPace(boots: readonly (readonly TimePair[])[], known: Pace = UNMEASURED): Pace {
  const best = boots.map(measuredPace).reduce(surer, known);
  // One that ran otherwise at another time is no crystal, however near to its nominal pace it once was.
  const ranOtherwise = boots
    .flatMap((pairs) => measured(pairs) ?? [])
    .some(({ rate, error }) => Math.abs(rate - best.rate) > error + best.within);
  return ranOtherwise ? { ...best, within: Math.max(best.within, RESONATOR_WANDERS) } : best;
}
