import type { Cup } from './cup.js';

/**
 * The cups whose trays or washes are still to be read. Until then nobody who may count them is told a ruling, a temperature
 * or an efficacy: pages are blind, unless somebody says that no further count will come.
 */
export const stillToCount = (cups: readonly Cup[]): Cup[] =>
  cups.filter(({ spoiled, counts }) => spoiled === null && (counts.tray === null || counts.wash === null));
