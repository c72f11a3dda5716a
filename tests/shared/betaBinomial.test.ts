import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { fitBetaBinomial } from '../../shared/index.js';
import { R, SCIPY, shares } from './reference.js';

describe('fitBetaBinomial()', () => {
  it.each(R.clustered)('agrees with VGAM and direct maximum likelihood on $name to five places', (row) => {
    const fit = fitBetaBinomial(shares(row.x, row.n));
    expect(Math.abs((fit?.mu ?? Number.NaN) - row.bbMu)).toBeLessThan(1e-5);
    expect(Math.abs((fit?.rho ?? Number.NaN) - row.bbRho)).toBeLessThan(1e-5);
  });

  it.each(SCIPY.betaBinomial)('agrees with the beta-binomial of SciPy on $name to five places', (row) => {
    const fit = fitBetaBinomial(row.cups.map(([part, whole]) => ({ part, whole })));
    expect(Math.abs((fit?.mu ?? Number.NaN) - row.mu)).toBeLessThan(1e-5);
    expect(Math.abs((fit?.rho ?? Number.NaN) - row.rho)).toBeLessThan(1e-5);
  });

  it('would fail that check on every data set with spread if it stopped at the binomial', () => {
    for (const row of R.clustered.filter(({ name }) => name !== 'lirat grp3')) {
      const binomial = { mu: row.pooled, rho: 0 };
      expect(Math.abs(binomial.mu - row.bbMu)).toBeGreaterThan(1e-4);
      expect(Math.abs(binomial.rho - row.bbRho)).toBeGreaterThan(1e-2);
    }
  });

  it('stays at rho 0 where unguarded fits run off to infinite shapes', () => {
    const grp3 = R.clustered.find(({ name }) => name === 'lirat grp3');
    expect(fitBetaBinomial(shares(grp3?.x ?? [], grp3?.n ?? []))).toEqual({
      mu: expect.closeTo(2 / 58, 12),
      rho: 0,
    });
  });

  it('goes to rho 1 when every cup is all or none, mu the share of cups', () => {
    const fit = fitBetaBinomial(shares([5, 0, 9, 4], [5, 7, 9, 4]));
    expect(fit?.rho).toBe(1);
    expect(fit?.mu).toBeCloseTo(0.75, 12);
  });

  it('sees no rho when all fell, none fell, or no cup holds two mites', () => {
    expect(fitBetaBinomial(shares([5, 3], [5, 3]))).toEqual({ mu: 1, rho: null });
    expect(fitBetaBinomial(shares([0, 0], [5, 3]))).toEqual({ mu: 0, rho: null });
    expect(fitBetaBinomial(shares([1, 0], [1, 1]))).toEqual({ mu: 0.5, rho: null });
    expect(fitBetaBinomial([])).toBeNull();
  });

  it('gives the mirror image when tray and wash swap', () => {
    const cup = fc
      .tuple(fc.nat({ max: 30 }), fc.nat({ max: 30 }))
      .filter(([tray, wash]) => tray + wash > 0)
      .map(([tray, wash]) => ({ part: tray, whole: tray + wash }));
    fc.assert(
      fc.property(fc.array(cup, { minLength: 1, maxLength: 12 }), (cups) => {
        const fit = fitBetaBinomial(cups);
        const mirror = fitBetaBinomial(cups.map(({ part, whole }) => ({ part: whole - part, whole })));
        expect(mirror?.mu).toBeCloseTo(1 - (fit?.mu ?? Number.NaN), 6);
        if (fit?.rho === null) expect(mirror?.rho).toBeNull();
        else expect(mirror?.rho).toBeCloseTo(fit?.rho ?? Number.NaN, 5);
        expect(fit?.rho ?? 0).toBeGreaterThanOrEqual(0);
        expect(fit?.rho ?? 0).toBeLessThanOrEqual(1);
      }),
    );
  });
});
