import { describe, expect, it } from 'vitest';
import { clusteredInfestation, colonyInfestation } from '../../shared/index.js';
import { SCIPY, shares } from './reference.js';

describe('colonyInfestation()', () => {
  it('gives the worked example 13 mites on 303 bees as 4.3 per 100', () => {
    // "Standard methods for varroa research", Journal of Apicultural Research 2013 52(1), worked example.
    expect(colonyInfestation(13, 303, 0, 0.95).per100).toBeCloseTo(4.3, 1);
  });

  it.each(SCIPY.poisson)('gives exact limits for $mites on $bees', ({ mites, bees, interval }) => {
    const result = colonyInfestation(mites, bees, 0, 0.95);
    expect(result.interval?.[0]).toBeCloseTo(interval[0], 9);
    expect(result.interval?.[1]).toBeCloseTo(interval[1], 9);
  });

  it.each(SCIPY.widened)('widens for $mites on about $bees, CV $cv', ({ mites, bees, cv, interval }) => {
    const result = colonyInfestation(mites, bees, cv, 0.95);
    expect(result.interval?.[0]).toBeCloseTo(interval[0], 9);
    expect(result.interval?.[1]).toBeCloseTo(interval[1], 9);
    expect(colonyInfestation(mites, bees, 0, 0.95).interval?.[1]).toBeLessThan(interval[1] - 0.01);
  });

  it('gives no interval when the estimate of the bees says nothing', () => {
    expect(colonyInfestation(13, 300, 0.6, 0.95)).toEqual({ per100: 13 / 3, interval: null });
  });
});

describe('clusteredInfestation()', () => {
  it('does not go below 0', () => {
    const result = clusteredInfestation(shares([0, 0, 9], [300, 300, 300]), 0.95);
    expect(result.per100).toBeCloseTo(1, 12);
    expect(result.interval?.[0]).toBe(0);
  });

  it('gives no interval from one colony and nothing without bees', () => {
    expect(clusteredInfestation(shares([6], [300]), 0.95)).toEqual({ per100: 2, interval: null });
    expect(clusteredInfestation([], 0.95)).toEqual({ per100: null, interval: null });
  });
});
