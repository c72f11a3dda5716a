import type { Share } from '../../shared/index.js';

type Uniform = () => number;

/** A whole number from `low` to `high`. */
export const drawWhole = (uniform: Uniform, low: number, high: number): number =>
  low + Math.floor(uniform() * (high - low + 1));

/**
 * Draws how many of `whole` mites of one cup fell: beta-binomial with mean `mu` and correlation `rho`, mite by
 * mite from an urn to which each mite that went one way adds weight on its side. Exact, and with nothing but
 * sums and quotients the same on every machine.
 */
export function drawFallen(uniform: Uniform, whole: number, mu: number, rho: number): number {
  let fallen = 0;
  for (let mite = 0; mite < whole; mite += 1) {
    const chance = (mu * (1 - rho) + rho * fallen) / (1 - rho + rho * mite);
    if (uniform() < chance) fallen += 1;
  }
  return fallen;
}

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

/** So few cups hold more that the walk may end here. */
const MITES_MAX = 500;

/** Draws a cup of `whole` mites. */
export const drawCup = (uniform: Uniform, whole: number, mu: number, rho: number): Share => ({
  part: drawFallen(uniform, whole, mu, rho),
  whole,
});
