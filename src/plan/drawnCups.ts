import type { Share } from '../../shared/index.js';

/** Draws of invented cups, with nothing but sums and quotients, so that a seed gives the same on every machine. */
export type Uniform = () => number;

/**
 * Draws how many of `whole` mites of one cup fell: beta-binomial with mean `mu` and correlation `rho`, mite by
 * mite from an urn to which each mite that went one way adds weight on its side. Exact.
 */
export function drawFallen(uniform: Uniform, whole: number, mu: number, rho: number): number {
  let fallen = 0;
  for (let mite = 0; mite < whole; mite += 1) {
    const chance = (mu * (1 - rho) + rho * fallen) / (1 - rho + rho * mite);
    if (uniform() < chance) fallen += 1;
  }
  return fallen;
}

/** So few cups hold more that the walk may end here. */
const MITES_MAX = 500;

/** Draws the mites of one cup from a negative binomial with that mean and size, by walking up its terms. */
export function drawMites(uniform: Uniform, mean: number, size: number): number {
  const ratio = mean / (mean + size);
  let left = uniform();
  let term = (1 - ratio) ** size;
  let mites = 0;
  while (left >= term && mites < MITES_MAX) {
    left -= term;
    term *= (ratio * (size + mites)) / (mites + 1);
    mites += 1;
  }
  return mites;
}

/** Draws a cup of `whole` mites. */
export const drawCup = (uniform: Uniform, whole: number, mu: number, rho: number): Share => ({
  part: drawFallen(uniform, whole, mu, rho),
  whole,
});
