import { describe, expect, it } from 'vitest';
import { type CupCount, decisionChance, efficacyReport } from '../../shared/index.js';
import { SCIPY, strip } from './reference.js';

const moreOf = (cups: readonly CupCount[]): number | null | undefined =>
  efficacyReport(cups).yards[0]?.moreCups;

describe('moreCups', () => {
  it.each(SCIPY.moreCups)('agrees with the search of assay-check.py: $name', ({ cups, moreCups }) => {
    expect(moreOf(cups.map(([tray, mites]) => strip(tray, mites - tray)))).toBe(moreCups);
  });

  it('is the first number from which the chance stays at 80 %', () => {
    // Six cups of ten mites, 51 fell: designEffect below 1, so 60 effective mites and 10 more with each cup.
    const chance = (more: number): number => decisionChance(51 / 60, 6 + more, 60 + 10 * more, 0.7, 0.95);
    expect(moreOf([8, 9, 7, 10, 9, 8].map((tray) => strip(tray, 10 - tray)))).toBe(3);
    expect(chance(2)).toBeLessThan(0.8);
    expect(chance(3)).toBeGreaterThanOrEqual(0.8);
  });

  it('asks at least for the cups and mites that a verdict needs', () => {
    expect(moreOf([strip(0, 9), strip(0, 9)])).toBe(3);
    expect(moreOf([1, 2, 3, 4, 5].map(() => strip(0, 2)))).toBe(5);
    // 13 mites in five cups: 7 are missing, at 2.6 a cup.
    expect(moreOf([2, 3, 3, 3, 2].map((wash) => strip(0, wash)))).toBe(3);
  });

  it('is 0 when decided and null from one cluster, without mites, and beyond 100', () => {
    expect(moreOf([1, 2, 3, 4, 5].map(() => strip(0, 8)))).toBe(0);
    expect(moreOf([strip(7, 3, { colony: 'K' }), strip(7, 3, { colony: 'K' })])).toBeNull();
    expect(moreOf([strip(0, 0)])).toBeNull();
    expect(moreOf([6, 8, 7, 7, 7].map((tray) => strip(tray, 10 - tray)))).toBeNull();
  });
});

describe('decisionChance()', () => {
  it('is certain or impossible when all fell', () => {
    expect(decisionChance(1, 10, 200, 0.7, 0.95)).toBe(1);
    expect(decisionChance(1, 2, 4, 0.7, 0.95)).toBe(0);
  });

  it('agrees with planning figures for independent mites', () => {
    // Effective mites for an 80 % chance that Wilson's limits exclude 70 %, computed by R 4.2.2 with exact binomial
    // sums: true 40 % 21, 50 % 45, 55 % 81, 90 % 35. With many clusters t is z, and the normal form is near.
    for (const [p, mites] of [
      [0.4, 21],
      [0.5, 45],
      [0.55, 81],
      [0.9, 35],
    ] as const) {
      expect(decisionChance(p, 1e6, mites * 1.25, 0.7, 0.95)).toBeGreaterThan(0.8);
      expect(decisionChance(p, 1e6, mites * 0.75, 0.7, 0.95)).toBeLessThan(0.8);
    }
  });
});
