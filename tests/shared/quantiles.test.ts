import gammaQuantileOf from '@stdlib/stats-base-dists-gamma-quantile';
import { describe, expect, it } from 'vitest';
import { betaQuantile, gammaQuantile, normalCdf, normalReach, tReach } from '../../shared/quantiles.js';
import { SCIPY } from './reference.js';

/** The largest relative distance from SciPy. */
const furthest = (
  name: keyof typeof SCIPY.quantiles,
  quantile: (p: number, a: number, b: number) => number,
): number =>
  Math.max(
    ...SCIPY.quantiles[name].map(({ p, a, b, value }) => Math.abs(quantile(p, a ?? 0, b ?? 0) / value - 1)),
  );

describe('the quantiles', () => {
  it('agree with SciPy 1.17.1 to nine places', () => {
    expect(furthest('normal', (tail) => normalReach(1 - 2 * tail))).toBeLessThan(1e-9);
    expect(furthest('t', (tail, clusters) => tReach(1 - 2 * tail, clusters))).toBeLessThan(1e-9);
    expect(furthest('beta', betaQuantile)).toBeLessThan(1e-9);
    expect(furthest('gamma', gammaQuantile)).toBeLessThan(1e-9);
  });

  it('would not if gamma came from the library alone at large shapes', () => {
    expect(furthest('gamma', (p, shape) => gammaQuantileOf(p, shape, 1))).toBeGreaterThan(1e-6);
  });
});

describe('normalCdf()', () => {
  it('undoes normalReach(), in the tails too', () => {
    for (const tail of [0.2, 0.025, 1e-9])
      expect(normalCdf(-normalReach(1 - 2 * tail)) / tail).toBeCloseTo(1, 6);
    expect(normalCdf(-6)).toBeCloseTo(9.865876450377e-10, 15); // computed by SciPy 1.17.1, norm.cdf(-6)
  });
});
