import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { pairedDifference } from '../../shared/arms.js';
import { type ArmDifference, type CupCount, efficacyReport, type Share } from '../../shared/index.js';
import { shares, strip } from './reference.js';

const inArm =
  (arm: string) =>
  (colony: string | null, tray: number | null, wash: number | null, more: Partial<CupCount> = {}): CupCount =>
    strip(tray, wash, { arm, colony, ...more });
const [one, two, three] = ['lot 1', 'lot 2', 'lot 3'].map(inArm) as [
  ReturnType<typeof inArm>,
  ReturnType<typeof inArm>,
  ReturnType<typeof inArm>,
];
const differencesOf = (cups: readonly CupCount[]): readonly ArmDifference[] =>
  efficacyReport(cups).armDifferences ?? [];

describe('pairedDifference()', () => {
  // Computed by R 4.2.2, tests/reference/assay-live.R: "arms 0.95 8:10,3:10 6:10,2:10 9:12,5:14".
  it('agrees with a paired linear model of the residuals', () => {
    const result = pairedDifference(shares([8, 6, 9], [10, 10, 12]), shares([3, 2, 5], [10, 10, 14]), 0.95);
    expect(result?.difference).toBeCloseTo(0.42463235294117646, 12);
    expect(result?.interval[0]).toBeCloseTo(-0.046708537111529, 9);
    expect(result?.interval[1]).toBeCloseTo(0.895973242993882, 9);
  });

  it('profits from what a colony does to both arms', () => {
    const first = shares([180, 100, 140, 60], [200, 200, 200, 200]);
    const alike = shares([160, 80, 120, 40], [200, 200, 200, 200]);
    const opposed = shares([40, 120, 80, 160], [200, 200, 200, 200]);
    const width = (second: Share[]): number => {
      const { interval } = pairedDifference(first, second, 0.95)!;
      return interval[1] - interval[0];
    };
    expect(width(alike)).toBeLessThan(width(opposed) / 3);
  });

  it('has an interval with width even when every mite fell in both arms', () => {
    const all = shares([8, 9, 7], [8, 9, 7]);
    const { difference, interval } = pairedDifference(all, all, 0.95)!;
    expect(difference).toBe(0);
    expect(interval[0]).toBeLessThan(-0.1);
    expect(interval[1]).toBeGreaterThan(0.1);
  });

  it('is the mirror image when arms swap, and stays within -1 and 1', () => {
    const share = fc
      .tuple(fc.nat({ max: 30 }), fc.nat({ max: 30 }))
      .filter(([tray, wash]) => tray + wash > 0)
      .map(([tray, wash]) => ({ part: tray, whole: tray + wash }));
    fc.assert(
      fc.property(fc.array(fc.tuple(share, share), { minLength: 2, maxLength: 10 }), (pairs) => {
        const [a, b] = [pairs.map(([first]) => first), pairs.map(([, second]) => second)];
        const [there, back] = [pairedDifference(a, b, 0.95)!, pairedDifference(b, a, 0.95)!];
        expect(back.difference).toBeCloseTo(-there.difference, 12);
        expect(back.interval[0]).toBeCloseTo(-there.interval[1], 12);
        expect(there.interval[0]).toBeGreaterThanOrEqual(-1);
        expect(there.interval[1]).toBeLessThanOrEqual(1);
        expect(there.interval[0]).toBeLessThanOrEqual(there.difference);
        expect(there.interval[1]).toBeGreaterThanOrEqual(there.difference);
      }),
    );
  });

  it('is null below two colonies', () => {
    expect(pairedDifference([], [], 0.95)).toBeNull();
    expect(pairedDifference(shares([3], [5]), shares([1], [5]), 0.95)).toBeNull();
  });
});

describe('efficacyReport() armDifferences', () => {
  it('rests on the colonies with mites in valid read cups of both arms, and names the others', () => {
    const [pair] = differencesOf([
      one('K1', 8, 2),
      one('K1', 4, 6),
      one('K2', 6, 4),
      one('K3', 9, 1),
      one('K4', 0, 0),
      one(null, 5, 5),
      two('K1', 3, 7),
      two('K2', 2, 8),
      two('K3', 9, 1, { ruling: 'cold' }),
      two('K4', 5, 5),
      two('K5', null, 5),
      two(null, 1, 9),
    ]);
    expect(pair).toMatchObject({ arms: ['lot 1', 'lot 2'], pairedColonies: 2, unpaired: [2, 2] });
    // K1 and K2: 12 + 6 of 20 + 10 against 3 + 2 of 20.
    expect(pair?.pairedEfficacies?.[0]).toBeCloseTo(0.6, 12);
    expect(pair?.pairedEfficacies?.[1]).toBeCloseTo(0.25, 12);
    expect(pair?.difference).toBeCloseTo(0.35, 12);
    expect(pair?.remarks.join()).toContain('one arm only: 2 and 2 colonies');
  });

  it('is null below two pairs, and never pairs cups that name no colony', () => {
    const [pair] = differencesOf([one('K1', 8, 2), one(null, 8, 2), two('K1', 3, 7), two(null, 3, 7)]);
    expect(pair).toMatchObject({
      pairedColonies: 1,
      difference: null,
      interval: null,
      pairedEfficacies: null,
    });
    expect(pair?.remarks.join()).toContain('fewer than two colonies');
  });

  it('compares every two arms of a yard, and never across yards', () => {
    const cups = ['K1', 'K2'].flatMap((k) => [one(k, 8, 2), two(k, 5, 5), three(k, 2, 8)]);
    expect(differencesOf(cups).map(({ arms }) => arms.join(' - '))).toEqual([
      'lot 1 - lot 2',
      'lot 1 - lot 3',
      'lot 2 - lot 3',
    ]);
    expect(differencesOf([one('K1', 8, 2, { yard: 'A' }), two('K1', 5, 5, { yard: 'B' })])).toEqual([]);
  });

  it('leaves the results of the arms as they are alone', () => {
    const [first, second] = [
      ['K1', 'K2', 'K3'].map((k) => one(k, 8, 2)),
      ['K1', 'K2', 'K3'].map((k) => two(k, 3, 7)),
    ];
    const { yards } = efficacyReport([...first, ...second]);
    expect(yards).toEqual([...efficacyReport(first).yards, ...efficacyReport(second).yards]);
    expect(efficacyReport(first)).not.toHaveProperty('armDifferences');
  });
});
