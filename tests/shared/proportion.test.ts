import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { clopperPearson, type Interval, jeffreys, wilson, wilsonCounts } from '../../shared/index.js';
import { R } from './reference.js';

/**
 * Published to four places in "Two-sided confidence intervals for the single proportion: comparison of seven
 * methods", Statistics in Medicine 1998 17: 857-872, Table I, methods 3 and 5.
 */
const PUBLISHED = [
  { x: 81, n: 263, wilson: [0.2553, 0.3662], exact: [0.2527, 0.3676] },
  { x: 15, n: 148, wilson: [0.0624, 0.1605], exact: [0.0578, 0.1617] },
  { x: 0, n: 20, wilson: [0, 0.1611], exact: [0, 0.1684] },
  { x: 1, n: 29, wilson: [0.0061, 0.1718], exact: [0.0009, 0.1776] },
];

type Limits = (x: number, n: number, level: number) => Interval;

const furthestFromPublished = (limits: Limits): number =>
  Math.max(
    ...PUBLISHED.flatMap(({ x, n, wilson: published }) =>
      limits(x, n, 0.95).map((limit, i) => Math.abs(limit - (published[i] ?? Number.NaN))),
    ),
  );

const furthestFromR = (limits: Limits, name: 'wilson' | 'clopperPearson' | 'jeffreys'): number =>
  Math.max(
    ...R.intervals.flatMap((row) =>
      limits(row.x, row.n, 0.95).map((limit, i) => Math.abs(limit - (row[name][i] ?? Number.NaN))),
    ),
  );

/** Wilson's limits with continuity correction: method 4 of the same article, the classic wrong cross-check. */
const continuityCorrected: Limits = (x, n) => {
  const z = 1.959963984540054;
  const p = x / n;
  const side = (sign: 1 | -1): number =>
    (2 * x + z * z + sign + sign * z * Math.sqrt(z * z + sign * 2 - 1 / n + 4 * p * (n * (1 - p) - sign))) /
    (2 * (n + z * z));
  return [x === 0 ? 0 : side(-1), x === n ? 1 : side(1)];
};

describe('wilsonCounts()', () => {
  it('gives the published limits', () => {
    expect(furthestFromPublished(wilsonCounts)).toBeLessThan(0.00005 + 1e-12);
  });

  it('agrees with R to nine places', () => {
    expect(furthestFromR(wilsonCounts, 'wilson')).toBeLessThan(1e-9);
  });

  it('would fail both checks with a continuity correction', () => {
    const [row] = R.intervals;
    expect(continuityCorrected(81, 263, 0.95)[1]).toBeCloseTo(row?.wilsonCC[1] ?? Number.NaN, 9);
    expect(furthestFromPublished(continuityCorrected)).toBeGreaterThan(0.001);
    expect(furthestFromR(continuityCorrected, 'wilson')).toBeGreaterThan(0.001);
  });

  it('stays finite and in order for effective mites below one', () => {
    const [lower, upper] = wilson(0.4, 0.3, 12.7);
    expect(lower).toBeGreaterThanOrEqual(0);
    expect(upper).toBeLessThanOrEqual(1);
    expect(lower).toBeLessThan(upper);
  });
});

describe('clopperPearson()', () => {
  it('gives the published limits', () => {
    for (const { x, n, exact } of PUBLISHED)
      clopperPearson(x, n, 0.95).forEach((limit, i) => {
        expect(Math.abs(limit - (exact[i] ?? Number.NaN))).toBeLessThan(0.00005 + 1e-12);
      });
  });

  it('agrees with R to nine places', () => {
    expect(furthestFromR(clopperPearson, 'clopperPearson')).toBeLessThan(1e-9);
  });

  it('differs from jeffreys() by more than the check allows', () => {
    expect(furthestFromR(jeffreys, 'clopperPearson')).toBeGreaterThan(0.001);
  });
});

describe('jeffreys()', () => {
  it('agrees with R to nine places, 0 at none and 1 at all', () => {
    expect(furthestFromR(jeffreys, 'jeffreys')).toBeLessThan(1e-9);
  });
});

describe('the three kinds of limits', () => {
  const counts = fc
    .record({ n: fc.integer({ min: 1, max: 2000 }), share: fc.double({ min: 0, max: 1, noNaN: true }) })
    .map(({ n, share }) => ({ n, x: Math.round(n * share) }));

  it.each([
    ['wilsonCounts()', wilsonCounts],
    ['clopperPearson()', clopperPearson],
    ['jeffreys()', jeffreys],
  ] as const)(
    '%s enclose the estimate, lie within 0 and 1, and mirror when tray and wash swap',
    (_, limits) => {
      fc.assert(
        fc.property(counts, fc.constantFrom(0.8, 0.95, 0.99), ({ x, n }, level) => {
          const [lower, upper] = limits(x, n, level);
          const [mirrorLower, mirrorUpper] = limits(n - x, n, level);
          expect(lower).toBeGreaterThanOrEqual(0);
          expect(upper).toBeLessThanOrEqual(1);
          expect(lower).toBeLessThanOrEqual(x / n);
          expect(upper).toBeGreaterThanOrEqual(x / n);
          expect(mirrorLower).toBeCloseTo(1 - upper, 10);
          expect(mirrorUpper).toBeCloseTo(1 - lower, 10);
        }),
      );
    },
  );
});
