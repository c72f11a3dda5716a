import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { abbott, correctForRecovery, recoveryShare } from '../../shared/index.js';

const treatedOf = (dead: number, of: number) => ({ tray: dead, wash: of - dead });

/** Interval limits computed by R 4.2.2 as 1 - risk ratio of survival, log limits, six places. */
const WORKED = [
  // 50 % against 10 % gives 44.4 %: worked example of "Methods in Anopheles Research" 5.1.3 (bottle bioassay).
  { treated: treatedOf(50, 100), control: treatedOf(10, 100), value: 0.444444, limits: [0.316951, 0.548141] },
  { treated: treatedOf(70, 100), control: treatedOf(5, 50), value: 0.666667, limits: [0.544013, 0.756328] },
  { treated: treatedOf(59, 70), control: treatedOf(2, 40), value: 0.834586, limits: [0.714105, 0.904295] },
  { treated: treatedOf(7, 10), control: treatedOf(1, 20), value: 0.684211, limits: [0.181763, 0.878125] },
];

describe('abbott()', () => {
  it.each(WORKED)(
    'gives the worked value $value with its log limits',
    ({ treated, control, value, limits }) => {
      const result = abbott(treated, control, 0.95);
      expect(result.efficacyCorrected).toBeCloseTo(value, 6);
      expect(result.interval?.[0]).toBeCloseTo(limits[0] ?? Number.NaN, 6);
      expect(result.interval?.[1]).toBeCloseTo(limits[1] ?? Number.NaN, 6);
    },
  );

  it('would fail that check with limits on deaths in place of survivors', () => {
    for (const { treated, control, limits } of WORKED) {
      const swapped = abbott(
        { tray: treated.wash, wash: treated.tray },
        { tray: control.wash, wash: control.tray },
        0.95,
      );
      expect(Math.abs((swapped.interval?.[0] ?? 0) - (limits[0] ?? 0))).toBeGreaterThan(0.1);
    }
  });

  it('leaves 100 % unchanged, without interval', () => {
    expect(abbott(treatedOf(30, 30), treatedOf(10, 100), 0.95)).toEqual({
      efficacyCorrected: 1,
      interval: null,
    });
  });

  it('shows a negative value as it is', () => {
    const result = abbott(treatedOf(10, 100), treatedOf(50, 100), 0.95);
    // 1 - 0.9 / 0.5
    expect(result.efficacyCorrected).toBeCloseTo(-0.8, 12);
    expect(result.interval?.[0]).toBeLessThan(-0.8);
  });

  it('knows nothing when no mite survived without a strip or a side has no mites', () => {
    const nothing = { efficacyCorrected: null, interval: null };
    expect(abbott(treatedOf(5, 10), treatedOf(4, 4), 0.95)).toEqual(nothing);
    expect(abbott(treatedOf(0, 0), treatedOf(1, 4), 0.95)).toEqual(nothing);
    expect(abbott(treatedOf(5, 10), treatedOf(0, 0), 0.95)).toEqual(nothing);
    expect(abbott(treatedOf(4, 4), treatedOf(4, 4), 0.95)).toEqual(nothing);
  });
});

describe('recoveryShare()', () => {
  it('takes the first of both washes, with limits', () => {
    // 637 then 47 of 59 hives: 93.1 %; limits of 637/684 by Wilson's formula, SciPy 1.17.1 (assay-check.py).
    const { q, interval } = recoveryShare({ first: 637, second: 47 }, 0.95);
    expect(q).toBeCloseTo(0.9312865497076024, 12);
    expect(interval?.[0]).toBeLessThan(q);
    expect(interval?.[1]).toBeGreaterThan(q);
  });

  it('takes a share as known', () => {
    expect(recoveryShare({ q: 0.95 }, 0.95)).toEqual({ q: 0.95, interval: null });
  });
});

describe('correctForRecovery()', () => {
  it('undoes what missed survivors do to a true 70 %', () => {
    // E_obs = E / (E + q (1-E)): a true 70 % reads 72.2 % at q 0.90 and 74.5 % at q 0.80, by arithmetic.
    for (const [q, reads] of [
      [0.9, 0.7 / (0.7 + 0.9 * 0.3)],
      [0.8, 0.7 / (0.7 + 0.8 * 0.3)],
    ] as const)
      expect(correctForRecovery(reads, null, q, null).efficacyCorrected).toBeCloseTo(0.7, 12);
  });

  it('moves the limits by the same formula when q is known', () => {
    const result = correctForRecovery(0.6, [0.5, 0.7], 0.9, null);
    // T / (T + W/q) at the limits: 0.5/(0.5+0.5/0.9), 0.7/(0.7+0.3/0.9), by arithmetic.
    expect(result.interval?.[0]).toBeCloseTo(0.4736842105263158, 12);
    expect(result.interval?.[1]).toBeCloseTo(0.6774193548387096, 12);
  });

  it('widens when q is an estimate, changes nothing at q = 1, and never flatters the product', () => {
    const share = fc.double({ min: 0.001, max: 0.999, noNaN: true });
    fc.assert(
      fc.property(fc.tuple(share, share, share), fc.tuple(share, share, share), (p, of) => {
        const [lower, efficacy, upper] = [...p].sort((a, b) => a - b) as [number, number, number];
        const [qLower, q, qUpper] = [...of].sort((a, b) => a - b) as [number, number, number];
        const known = correctForRecovery(efficacy, [lower, upper], q, null);
        const estimated = correctForRecovery(efficacy, [lower, upper], q, [qLower, qUpper]);
        expect(known.efficacyCorrected).toBeLessThanOrEqual(efficacy);
        expect(estimated.interval?.[0]).toBeLessThanOrEqual((known.interval?.[0] ?? 0) + 1e-12);
        expect(estimated.interval?.[1]).toBeGreaterThanOrEqual((known.interval?.[1] ?? 1) - 1e-12);
        expect(correctForRecovery(efficacy, [lower, upper], 1, null).efficacyCorrected).toBeCloseTo(
          efficacy,
          12,
        );
      }),
    );
  });

  it('keeps 0 and 1, and limits of 0 and 1', () => {
    expect(correctForRecovery(1, [0.4, 1], 0.9, [0.8, 0.95])).toEqual({
      efficacyCorrected: 1,
      // 0.4/(0.4+0.6/0.9), by arithmetic
      interval: [expect.closeTo(0.375, 12), 1],
    });
    expect(correctForRecovery(0, [0, 0.4], 0.9, [0.8, 0.95])).toEqual({
      efficacyCorrected: 0,
      interval: [0, expect.closeTo(0.375, 12)],
    });
    expect(correctForRecovery(null, null, 0.9, null)).toEqual({ efficacyCorrected: null, interval: null });
  });
});
