import { ICE_OFFSET_MAX, meanOf } from './calibration.js';

/** Fewer probes than this say nothing about the water they share. */
export const ICE_TOGETHER_MIN = 3;
/**
 * The half width of the maker's limits over root 3 (JCGM 100:2008, 4.3.7): what the offset of a probe that lies anywhere
 * within them scatters by.
 */
const OFFSET_U = ICE_OFFSET_MAX / Math.sqrt(3);
/** A mean offset this many of its own standard deviations from 0 is asked about: one good bath in twenty (j). */
const ASKED_FROM = 1.96;
/** And refused from here on: fewer than three good baths in a thousand (j). */
const REFUSED_FROM = 3;

/** What the offsets of several probes in one bath say of the bath. */
export interface IceTogether {
  readonly verdict: 'likely' | 'asked' | 'refused';
  readonly mean: number;
  readonly lowest: number;
  readonly highest: number;
  /** From what mean on, either way, it is refused. */
  readonly limit: number;
}

/**
 * Judges by the mean offset of all probes whether the water was at 0 degC: the offsets of good probes fall on both
 * sides, an error of the bath shifts them all alike. Null for fewer than three probes, whose own errors hide it.
 */
export function iceTogether(offsets: readonly number[]): IceTogether | null {
  if (offsets.length < ICE_TOGETHER_MIN) return null;
  const mean = meanOf(offsets);
  const deviation = OFFSET_U / Math.sqrt(offsets.length);
  const limit = REFUSED_FROM * deviation;
  const far = Math.abs(mean) / deviation;
  return {
    verdict: far >= REFUSED_FROM ? 'refused' : far >= ASKED_FROM ? 'asked' : 'likely',
    mean,
    lowest: Math.min(...offsets),
    highest: Math.max(...offsets),
    limit,
  };
}
