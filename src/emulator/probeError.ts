import { seededChance } from '../units/clock.js';
import type { RomId } from '../units/ids.js';
import { MS_PER_SECOND, type UtcMs } from '../units/time.js';

/** A probe's fixed error depends on the probe alone: the same thermometer is wrong in the same way in every run. */
export const fixedErrorOf = (rom: RomId, most: number): number => symmetric(hash(rom), most);

/** A conversion's random error depends on run, probe and second alone, so that it is equal in every instance. */
export const randomErrorOf = (seed: number, rom: RomId, at: UtcMs, most: number): number =>
  symmetric(seed ^ hash(`${rom} ${Math.floor(at / MS_PER_SECOND)}`), most);

/** Something else that differs from probe to probe and stays, named by a word; uniform between `-most` and `most`. */
export const peculiarityOf = (rom: RomId, word: string, most: number): number =>
  symmetric(hash(`${word} ${rom}`), most);

/** One draw, uniform between `-most` and `most`. */
const symmetric = (seed: number, most: number): number => most * (2 * seededChance(seed).uniform() - 1);

/** FNV-1a of a text, 32 bits: a seed from a name. */
function hash(text: string): number {
  let state = 0x811c9dc5;
  for (const char of text) state = Math.imul(state ^ char.charCodeAt(0), 0x01000193) >>> 0;
  return state;
}
