import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  betweenYards,
  efficacyReport,
  fromLogit,
  logitYard,
  type SeasonYard,
  seasonReport,
} from '../../shared/index.js';
import { tReach } from '../../shared/quantiles.js';
import { numbersIn, realCups, strip } from './reference.js';

const yardOf = (yard: string, fallen: number, mites: number, more: Partial<SeasonYard> = {}): SeasonYard => ({
  yard,
  arm: null,
  verdict: 'undecided',
  efficacy: fallen / mites,
  effectiveMites: mites,
  interval: [0, 1],
  ...more,
});
/** Fallen and all mites of four real yards; attribution of the first two in tests/reference/assay-sources.md. */
const FOUR = [yardOf('A', 61, 119), yardOf('B', 207, 333), yardOf('C', 59, 70), yardOf('D', 20, 24)];
const logitsOf = (yards: readonly SeasonYard[]) =>
  yards.map(({ efficacy, effectiveMites }) => logitYard(efficacy ?? 0, effectiveMites));

// Computed by R 4.2.2 and metafor 3.8-1 (REML, knha; Q profile by confint), tests/reference/assay-live.R.
describe('betweenYards() on four real yards', () => {
  const fit = betweenYards(logitsOf(FOUR), 0.95)!;

  it('agrees with REML, Knapp-Hartung and Q of metafor', () => {
    expect(fit.sd ** 2).toBeCloseTo(0.562182601488, 7);
    expect(fromLogit(fit.mean)).toBeCloseTo(0.706139450691, 8);
    expect(fromLogit(fit.meanInterval[0])).toBeCloseTo(0.398625615663, 7);
    expect(fromLogit(fit.meanInterval[1])).toBeCloseTo(0.897026138874, 7);
    expect(fit.cochranQ).toBeCloseTo(23.0064476946, 8);
    expect(fit.sdInterval[0]).toBeCloseTo(0.34215, 4);
    expect(fit.sdInterval[1]).toBeCloseTo(3.01276, 4);
  });

  it('predicts with t(k-2), which is wider than the t(k-1) of metafor', () => {
    const [low, high] = fit.prediction!.map(fromLogit);
    expect(low).toBeCloseTo(0.057905980248, 7);
    expect(high).toBeCloseTo(0.989467479431, 7);
    const error = (fit.meanInterval[1] - fit.mean) / tReach(0.95, 4);
    const narrower = fit.mean - tReach(0.95, 4) * Math.hypot(fit.sd, error);
    expect(fromLogit(narrower)).toBeCloseTo(0.137663385368, 6);
  });

  it('would fail with the moment estimate of the spread', () => {
    // DerSimonian and Laird's: .324322, computed by metafor 3.8-1.
    expect(Math.abs(fit.sd ** 2 - 0.324322)).toBeGreaterThan(0.2);
  });
});

describe('betweenYards()', () => {
  it('finds no spread, but an interval with width, when yards agree exactly', () => {
    const fit = betweenYards(logitsOf([yardOf('A', 7, 10), yardOf('B', 7, 10), yardOf('C', 7, 10)]), 0.95)!;
    expect(fit.sd).toBe(0);
    // t(2) = 4.302652729911275 (SciPy 1.17.1) times the standard error of 21 of 30 on the logit scale.
    expect(fit.meanInterval[1] - fit.mean).toBeCloseTo(4.302652729911275 * Math.sqrt(1 / 21 + 1 / 9), 9);
  });

  it('takes all or none fallen as half a mite on the other side', () => {
    expect(logitYard(1, 20)).toEqual({ logit: Math.log(20.5 / 0.5), variance: 1 / 20.5 + 1 / 0.5 });
    expect(logitYard(0, 20).logit).toBe(-logitYard(1, 20).logit);
    expect(logitYard(0.5, 20)).toEqual({ logit: 0, variance: 0.2 });
  });

  it('knows nothing of fewer than two yards', () => {
    expect(betweenYards([], 0.95)).toBeNull();
    expect(betweenYards(logitsOf([yardOf('A', 7, 10)]), 0.95)).toBeNull();
  });
});

describe('seasonReport()', () => {
  it('gives the share below the line beside two counts that are named misleading', () => {
    const yards = FOUR.map(
      (yard) => ({ ...yard, verdict: yard.yard === 'B' ? 'below-line' : yard.verdict }) as const,
    );
    const [season] = seasonReport(yards);
    // Phi of the distance from the mean to the line in sd, from the metafor figures above; limits by numerical
    // integration in R 4.2.2, tests/reference/assay-live.R.
    expect(season?.shareOfYardsBelowLine?.estimate).toBeCloseTo(0.48436, 4);
    expect(season?.shareOfYardsBelowLine?.interval[0]).toBeCloseTo(0.14224, 2);
    expect(season?.shareOfYardsBelowLine?.interval[1]).toBeCloseTo(0.86854, 2);
    expect(season?.misleadingCounts).toEqual({
      yardsWithVerdictBelowLine: 1,
      yardsWithEstimateBelowLine: 2,
      ofYards: 4,
      // binom.test(2, 4), computed by R 4.2.2; clopperPearson() is checked against it in tests/shared/live.test.ts.
      estimatesBelowLineInterval: [
        expect.closeTo(0.067585986488543, 9),
        expect.closeTo(0.932414013511457, 9),
      ],
    });
  });

  it('says what the count alone leaves open where yards are few or no spread was found', () => {
    const alike = (count: number, fallen: number) =>
      Array.from({ length: count }, (_, index) => yardOf(`Y${index}`, fallen, 100));
    const said = (yards: readonly SeasonYard[]) =>
      seasonReport(yards)[0]!.remarks.find((remark) => remark.includes('too bold')) ?? null;
    const none = /^no spread between the yards was found, .* may be too bold: /;
    // binom.test(0, 4) to 0.60236 and binom.test(4, 4) from 0.39764, computed by R 4.2.2.
    expect(said(alike(4, 90))).toMatch(none);
    expect(said(alike(4, 90))).toContain(
      '0 of 4 estimates lie below the 70 % line, which leaves open that up to 60 % of all yards lie there (exact 95 % range of the count)',
    );
    expect(said(alike(4, 40))).toContain(
      '4 of 4 estimates lie below the 70 % line, which leaves open that no more than 40 %',
    );
    // binom.test(2, 4): 0.067586 to 0.93241, computed by R 4.2.2. These four differ by more than chance.
    expect(said(FOUR)).toMatch(
      /^from 4 yards the spread between yards is hardly known, .* anything from 7 % to 93 % of all yards/,
    );
    // Eight that are alike to a mite: none below leaves up to 0.36942, binom.test(0, 8), computed by R 4.2.2.
    expect(said(alike(8, 90))).toMatch(none);
    expect(said(alike(8, 90))).toContain('leaves open that up to 37 %');
    // Negative control: eight that differ, and two of which no share is told at all.
    const eight = [95, 60, 85, 70, 92, 50, 88, 75].map((fallen, index) => yardOf(`Y${index}`, fallen, 100));
    expect([said(eight), said(alike(2, 90))]).toEqual([null, null]);
    expect(said(eight.slice(0, 7))).toContain('from 7 yards');
  });

  it('takes entries of efficacyReport(), with their effective mites', () => {
    const { yards } = efficacyReport([...realCups('A'), ...realCups('B')]);
    const [season] = seasonReport(yards);
    expect(season?.yards).toBe(2);
    expect(season?.predictionForNextYard).toBeNull();
    expect(season?.shareOfYardsBelowLine).toBeNull();
    expect(season?.remarks.join()).toContain('two yards only');
    const naive = seasonReport([yardOf('A', 61, 119), yardOf('B', 207, 333)])[0];
    expect(season?.cochranQ).toBeLessThan(naive?.cochranQ ?? 0);
  });

  it('keeps arms apart, leaves out yards without an interval and says why', () => {
    const seasons = seasonReport([
      ...FOUR,
      yardOf('A', 10, 20, { arm: 'lot 2' }),
      yardOf('E', 10, 20, { interval: null }),
      yardOf('F', 0, 1, { efficacy: null, interval: null }),
    ]);
    expect(seasons.map(({ arm, yards }) => [arm, yards])).toEqual([
      [null, 4],
      ['lot 2', 1],
    ]);
    expect(seasons[0]?.leftOut).toEqual([
      { yard: 'E', why: 'all mites come from one colony' },
      { yard: 'F', why: 'no efficacy is known' },
    ]);
    expect(seasons[0]?.efficacyOfMiddleYard).toBe(seasonReport(FOUR)[0]?.efficacyOfMiddleYard);
    expect(seasons[1]).toMatchObject({ efficacyOfMiddleYard: null, cochranQ: null });
  });

  it('refuses a yard that stands twice in an arm, and a line that cannot be', () => {
    expect(() => seasonReport([...FOUR, yardOf('A', 1, 2)])).toThrow('yard A stands twice');
    expect(() => seasonReport(FOUR, { line: 1 })).toThrow(RangeError);
  });

  it('has only finite numbers, and shares within 0 and 1, for any cups', () => {
    const cup = fc.tuple(
      fc.nat({ max: 4 }),
      fc.oneof(fc.nat({ max: 12 }), fc.constant(0)),
      fc.nat({ max: 12 }),
    );
    fc.assert(
      fc.property(fc.array(cup, { maxLength: 25 }), (cups) => {
        const counts = cups.map(([yard, tray, wash]) => strip(tray, wash, { yard: `Y${yard}` }));
        for (const season of seasonReport(efficacyReport(counts).yards)) {
          expect(numbersIn(season).every(Number.isFinite)).toBe(true);
          const { efficacyOfMiddleYard, intervalOfMiddleYard, predictionForNextYard, shareOfYardsBelowLine } =
            season;
          const shown = [
            efficacyOfMiddleYard,
            intervalOfMiddleYard,
            predictionForNextYard,
            shareOfYardsBelowLine,
          ];
          expect(numbersIn(shown).every((share) => share >= 0 && share <= 1)).toBe(true);
          const share = shareOfYardsBelowLine;
          if (share !== null) expect(share.interval[0]).toBeLessThanOrEqual(share.interval[1]);
        }
      }),
      { numRuns: 60 },
    );
  });
});
