import { isRead, mitesOf } from './entries.js';
import { COUNT_MAX } from './input.js';
import { type CupCount, RULINGS, type Ruling } from './types.js';

/** A cup with whether another one was loaded in its place. */
export interface FlowCup extends CupCount {
  readonly replaced?: boolean | undefined;
}

/** Where the strip cups went: loaded = replaced + ruled out + unread + without mites + used. */
export interface CupFlow {
  /** Declared before the first was loaded; null when nobody said. */
  readonly planned: number | null;
  readonly loaded: number;
  /** Taken out, cold at once for example, and another one loaded; whatever their ruling. */
  readonly replaced: number;
  /** Not replaced, by ruling. */
  readonly ruledOut: Readonly<Record<Exclude<Ruling, 'valid'>, number>>;
  /** Valid, but tray or wash not read. */
  readonly unread: number;
  /** Valid and read, but without a mite. */
  readonly miteFree: number;
  /** What the efficacy rests on. */
  readonly used: number;
  /** Cups without strip, which are in none of the figures above. */
  readonly withoutStrip: number;
}

/**
 * Counts where the strip cups of a visit or a season went, each cup in one place. A season that hides how many
 * were lost, and why, hides that cold days are not random. Throws a RangeError for a planned number that is
 * not whole from 0.
 */
export function cupFlow(cups: readonly FlowCup[], planned: number | null): CupFlow {
  if (planned !== null && !(Number.isInteger(planned) && planned >= 0 && planned <= COUNT_MAX))
    throw new RangeError(
      `the cups planned are ${planned}; they must be a whole number from 0 to ${COUNT_MAX}`,
    );
  const strip = cups.filter(({ kind }) => kind === 'strip');
  const kept = strip.filter(({ replaced }) => replaced !== true);
  const valid = kept.filter(({ ruling }) => ruling === 'valid');
  const read = valid.filter(isRead);
  const used = read.filter((cup) => mitesOf(cup) > 0);
  const ruledOut = Object.fromEntries(
    RULINGS.filter((ruling) => ruling !== 'valid').map((ruling) => [
      ruling,
      kept.filter((cup) => cup.ruling === ruling).length,
    ]),
  ) as Record<Exclude<Ruling, 'valid'>, number>;
  return {
    planned,
    loaded: strip.length,
    replaced: strip.length - kept.length,
    ruledOut,
    unread: valid.length - read.length,
    miteFree: read.length - used.length,
    used: used.length,
    withoutStrip: cups.length - strip.length,
  };
}
