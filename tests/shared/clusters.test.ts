import { describe, expect, it } from 'vitest';
import {
  clusteredEfficacy,
  clusteredRatio,
  type Interval,
  type Share,
  wilson,
  wilsonCounts,
} from '../../shared/index.js';
import { betaQuantile } from '../../shared/quantiles.js';
import { seededChance } from '../../src/units/clock.js';
import { R, shares } from './reference.js';

describe('clusteredEfficacy()', () => {
  it.each(R.clustered)('agrees with R on $name to nine places', (row) => {
    const result = clusteredEfficacy(shares(row.x, row.n), 0.95);
    expect(result.k).toBe(row.k);
    expect(result.efficacy).toBeCloseTo(row.pooled, 9);
    expect(result.designEffect).toBeCloseTo(row.deff, 9);
    expect(result.effectiveMites).toBeCloseTo(row.nEff, 9);
    expect(result.interval?.[0]).toBeCloseTo(row.wilsonDeffT[0], 9);
    expect(result.interval?.[1]).toBeCloseTo(row.wilsonDeffT[1], 9);
  });

  it('would fail that check with z in place of t', () => {
    for (const row of R.clustered) {
      const z = wilson(row.pooled, row.nEff, 1.959963984540054);
      expect(z[0]).toBeCloseTo(row.wilsonDeffZ[0], 9);
      expect(Math.abs(z[1] - row.wilsonDeffT[1])).toBeGreaterThan(0.002);
    }
  });

  it('knows nothing without clusters that hold mites', () => {
    const nothing = {
      k: 0,
      tray: 0,
      mites: 0,
      efficacy: null,
      designEffect: null,
      effectiveMites: 0,
      interval: null,
    };
    expect(clusteredEfficacy([], 0.95)).toEqual(nothing);
    expect(clusteredEfficacy([{ part: 0, whole: 0 }], 0.95)).toEqual(nothing);
  });

  it('gives no interval and no design effect from one cluster, and all its mites as effective', () => {
    expect(clusteredEfficacy([{ part: 7, whole: 10 }], 0.95)).toEqual({
      k: 1,
      tray: 7,
      mites: 10,
      efficacy: 0.7,
      designEffect: null,
      effectiveMites: 10,
      interval: null,
    });
  });

  it.each([0, 1])('clamps the interval and gives no design effect at an efficacy of %d', (efficacy) => {
    const clusters: Share[] = [4, 9, 3].map((whole) => ({ part: efficacy * whole, whole }));
    const result = clusteredEfficacy(clusters, 0.95);
    expect(result).toMatchObject({ k: 3, efficacy, designEffect: null, effectiveMites: 16 });
    expect(result.interval?.[efficacy]).toBe(efficacy);
    // t(2) at 0.975 is 4.302652729911275, computed by SciPy 1.17.1; Wilson's free limit is then n/(n+t^2) from 1.
    const reach = 16 / (16 + 4.302652729911275 ** 2);
    expect(result.interval?.[1 - efficacy]).toBeCloseTo(efficacy === 1 ? reach : 1 - reach, 9);
  });

  it('keeps a design effect below 1 raw but never counts more mites than there are', () => {
    const result = clusteredEfficacy(shares([7, 7, 7], [10, 10, 10]), 0.95);
    expect(result.designEffect).toBe(0);
    expect(result.effectiveMites).toBe(30);
  });
});

describe('clusteredRatio()', () => {
  it('ignores clusters whose whole is empty', () => {
    expect(clusteredRatio(shares([3, 0, 5], [10, 0, 10]))).toEqual(clusteredRatio(shares([3, 5], [10, 10])));
  });
});

const RUNS = 1000;
const CUPS = 10;
const MITES = 8;
const TRUE_EFFICACY = 0.7;
const RHO = 0.1;

/** Ten cups of eight mites whose efficacies spread around 70 % as a beta distribution. */
function drawYard(uniform: () => number): Share[] {
  const size = (1 - RHO) / RHO;
  return Array.from({ length: CUPS }, () => {
    const own = betaQuantile(uniform(), TRUE_EFFICACY * size, (1 - TRUE_EFFICACY) * size);
    return { part: Array.from({ length: MITES }, uniform).filter((draw) => draw < own).length, whole: MITES };
  });
}

function coverageOf(limits: (yard: Share[]) => Interval | null): number {
  const chance = seededChance(70);
  let covered = 0;
  for (let run = 0; run < RUNS; run += 1) {
    const interval = limits(drawYard(() => chance.uniform()));
    if (interval !== null && interval[0] <= TRUE_EFFICACY && TRUE_EFFICACY <= interval[1]) covered += 1;
  }
  return covered / RUNS;
}

// A simulation in R 4.2.2 of 4000 such yards (mites a cup varying) found 94 % for t(k-1) and 82 % for the naive one.
describe('clusteredEfficacy() on cups that differ', () => {
  it('has an interval that holds the true efficacy in about 95 of 100 yards', () => {
    expect(coverageOf((yard) => clusteredEfficacy(yard, 0.95).interval)).toBeGreaterThan(0.93);
  });

  it('would not with every mite taken as independent', () => {
    const naive = (yard: Share[]): Interval =>
      wilsonCounts(
        yard.reduce((sum, { part }) => sum + part, 0),
        CUPS * MITES,
        0.95,
      );
    expect(coverageOf(naive)).toBeLessThan(0.9);
  });
});
