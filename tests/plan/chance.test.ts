import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { efficacyReport } from '../../shared/index.js';
import type { Assumed, ExpectedMites, VerdictChances } from '../../src/plan/assumed.js';
import { type ChanceQuestion, chancesFor } from '../../src/plan/chance.js';
import { cupsNeeded, drawnChances, tooFewChance } from '../../src/plan/drawnChance.js';
import { exactChances, fallChances, isExact } from '../../src/plan/exactChance.js';
import { seededChance } from '../../src/units/clock.js';

/** Computed by R 4.2.2; the script that made it lies beside it. */
const R: {
  readonly exact: readonly (VerdictChances & Case & { readonly mites: number })[];
  readonly tooFew: readonly (Case & {
    readonly mean: number;
    readonly size: number;
    readonly tooFew: number;
  })[];
  readonly drawn: readonly (VerdictChances &
    Case & {
      readonly cupsAColony: number;
      readonly mean: number;
      readonly size: number;
      readonly runs: number;
    })[];
} = JSON.parse(readFileSync(new URL('../reference/plan-chance.json', import.meta.url), 'utf8'));

interface Case {
  readonly cups: number;
  readonly efficacy: number;
  readonly rho: number;
  readonly lost: number;
}

const ANSWERS = ['aboveLine', 'undecided', 'belowLine', 'tooFew'] as const;
const BAR = { line: 0.7, minCups: 5, minMites: 20 };
const assumed = (change: Partial<Assumed> = {}): Assumed => ({
  cups: 10,
  cupsAColony: 1,
  lost: 0.1,
  rho: 0.1,
  bar: BAR,
  level: 0.95,
  ...change,
});
/** `bees` of 100 make the mites of a cup those on 100 bees. */
const uneven = (mean: number, size = 1.5): ExpectedMites => ({
  kind: 'uneven',
  per100: mean,
  bees: 100,
  size,
});

const furthest = (a: VerdictChances, b: VerdictChances): number =>
  Math.max(...ANSWERS.map((answer) => Math.abs(a[answer] - b[answer])));

describe('exactChances()', () => {
  it('agrees with R laying out every outcome of every cup', () => {
    expect(R.exact.length).toBeGreaterThanOrEqual(6);
    for (const each of R.exact) {
      const { cups, mites, efficacy, rho, lost } = each;
      const [chances] = exactChances(assumed({ cups, rho, lost }), mites, [efficacy]);
      expect(furthest(chances!, each), JSON.stringify(each)).toBeLessThan(1e-9);
    }
  });

  it('would not agree with cups that are a little less alike, or with one more lost (negative control)', () => {
    const { cups, mites, efficacy, rho, lost } = R.exact[2]!;
    for (const change of [{ rho: rho - 0.01 }, { lost: lost + 0.01 }]) {
      const [chances] = exactChances(assumed({ cups, rho, lost, ...change }), mites, [efficacy]);
      expect(furthest(chances!, R.exact[2]!)).toBeGreaterThan(1e-3);
    }
  });

  it('adds up to 1, whatever is asked', () => {
    for (const efficacy of [0.05, 0.5, 0.7, 0.99]) {
      const [chances] = exactChances(assumed(), 3, [efficacy]);
      expect(ANSWERS.reduce((sum, answer) => sum + chances![answer], 0)).toBeCloseTo(1, 12);
    }
  });

  it('is left to small cases', () => {
    expect([isExact(assumed(), 10), isExact(assumed(), 11), isExact(assumed({ cupsAColony: 2 }), 3)]).toEqual(
      [true, false, false],
    );
  });
});

describe('fallChances()', () => {
  it('is binomial where mites are independent, and wider where they are alike', () => {
    // dbinom(0:3, 3, 0.7), computed by R 4.2.2
    expect(fallChances(3, 0.7, 0)).toEqual([0.027, 0.189, 0.441, 0.343].map((x) => expect.closeTo(x, 12)));
    expect(fallChances(3, 0.7, 0.1)[3]).toBeGreaterThan(0.343);
  });
});

describe('tooFewChance()', () => {
  it('agrees with R convolving cup by cup', () => {
    for (const { cups, mean, size, lost, tooFew } of R.tooFew)
      expect(tooFewChance(assumed({ cups, lost }), uneven(mean, size))).toBeCloseTo(tooFew, 10);
  });
});

describe('drawnChances()', () => {
  it('agrees with yards drawn by R, cups that share a colony among them', () => {
    for (const each of R.drawn) {
      const { cups, cupsAColony, mean, size, efficacy, rho, lost } = each;
      const setting = assumed({ cups, cupsAColony, rho, lost });
      const chances = drawnChances(setting, uneven(mean, size), efficacy, 20_000, seededChance(1));
      // Four standard errors of the difference of 20,000 and 100,000 draws, at their largest.
      expect(furthest(chances, each), JSON.stringify(each)).toBeLessThan(
        4 * 0.5 * Math.sqrt(1 / 20_000 + 1 / 100_000),
      );
    }
  });

  it('would not if the cups of a colony were clusters of their own (negative control)', () => {
    const { cups, mean, size, efficacy, rho, lost } = R.drawn[2]!;
    const chances = drawnChances(
      assumed({ cups, cupsAColony: 1, rho, lost }),
      uneven(mean, size),
      efficacy,
      20_000,
      seededChance(1),
    );
    expect(furthest(chances, R.drawn[2]!)).toBeGreaterThan(0.05);
  });

  it('would not if every colony gave as many cups as the first (negative control)', () => {
    const { cupsAColony, mean, size, efficacy, rho, lost, ...rest } = R.drawn[3]!;
    const whole = assumed({ cups: cupsAColony * Math.ceil(rest.cups / cupsAColony), cupsAColony, rho, lost });
    const chances = drawnChances(whole, uneven(mean, size), efficacy, 20_000, seededChance(1));
    expect(furthest(chances, R.drawn[3]!)).toBeGreaterThan(0.03);
  });

  it('agrees with the exact chances where both can be had', () => {
    const [exact] = exactChances(assumed(), 3, [0.5]);
    const drawn = drawnChances(assumed(), { kind: 'same', mites: 3 }, 0.5, 20_000, seededChance(5));
    // Four standard errors of 20,000 draws, at their largest.
    expect(furthest(drawn, exact!)).toBeLessThan((4 * 0.5) / Math.sqrt(20_000));
  });

  it('answers as the result of such a yard would, where only one can come of it', () => {
    const cupsOf = (tray: number, cups: number) =>
      Array.from({ length: cups }, (_, cup) => ({
        ...{ yard: 'Y', cup: String(cup), kind: 'strip' as const, tray, wash: 3 - tray, bees: 300 },
        ...{ arm: null, colony: null, group: null, ruling: 'valid' as const },
      }));
    const said = (tray: number, cups: number) => efficacyReport(cupsOf(tray, cups)).yards[0]!.verdict;
    const [none] = exactChances(assumed({ lost: 0, cups: 8 }), 3, [1e-12]);
    const [all] = exactChances(assumed({ lost: 0, cups: 8 }), 3, [1 - 1e-12]);
    const [few] = exactChances(assumed({ lost: 0, cups: 6 }), 3, [1e-12]);
    expect([said(0, 8), said(3, 8), said(0, 6)]).toEqual(['below-line', 'above-line', 'too-few']);
    for (const chance of [none!.belowLine, all!.aboveLine, few!.tooFew]) expect(chance).toBeCloseTo(1, 9);
  });
});

describe('cupsNeeded()', () => {
  const needed = (efficacy: number, want = 0.8, mean = 9) =>
    cupsNeeded(assumed(), uneven(mean), efficacy, want, 1000, seededChance(1));

  it('gives the wanted chance, and a quarter fewer cups do not', () => {
    const cups = needed(0.5)!;
    const right = (count: number) =>
      drawnChances(assumed({ cups: count }), uneven(9), 0.5, 20_000, seededChance(9)).belowLine;
    expect(right(cups)).toBeGreaterThan(0.8 - 0.04);
    expect(right(Math.floor(cups * 0.75))).toBeLessThan(0.8);
  });

  it('grows towards the line, with the chance and with fewer mites, and is null where 100 will not do', () => {
    expect(needed(0.55)!).toBeGreaterThan(needed(0.4)!);
    expect(needed(0.5, 0.9)!).toBeGreaterThan(needed(0.5)!);
    expect(needed(0.5, 0.8, 3)!).toBeGreaterThan(needed(0.5)!);
    expect(needed(0.7)).toBeNull();
  });
});

describe('chancesFor()', () => {
  const question: ChanceQuestion = {
    ...{ assumed: assumed(), expected: [uneven(9), { kind: 'same', mites: 3 }] },
    ...{ efficacies: [0.3, 0.5, 0.7, 0.9], want: 0.8, runs: 1000, seed: 1 },
  };

  it('says the same again, and how far it may be off', () => {
    expect(chancesFor(question)).toEqual(chancesFor(question));
    const [drawn, exact] = chancesFor(question);
    // 1.96 sqrt(0.25 / 1000), computed by hand
    expect(drawn!.error).toBeCloseTo(0.03099, 5);
    expect(exact!.error).toBeNull();
  });

  it('names the cases that are clear on each side', () => {
    expect(chancesFor({ ...question, want: 0.6 })[0]!.clear).toEqual({ upTo: 0.5, from: 0.9 });
    expect(chancesFor({ ...question, want: 0.95 })[0]!.clear).toEqual({ upTo: 0.3, from: null });
    expect(chancesFor({ ...question, want: 0.999 })[0]!.clear).toEqual({ upTo: null, from: null });
  });
});
