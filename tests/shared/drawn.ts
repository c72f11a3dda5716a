export { drawCup, drawFallen, drawMites } from '../../src/plan/drawnCups.js';

/** A whole number from `low` to `high`. */
export const drawWhole = (uniform: () => number, low: number, high: number): number =>
  low + Math.floor(uniform() * (high - low + 1));
