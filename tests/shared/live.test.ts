import { randomInt } from 'node:crypto';
import { beforeAll, describe, expect, it } from 'vitest';
import { pairedDifference } from '../../shared/arms.js';
import {
  abbott,
  betweenYards,
  clopperPearson,
  clusteredEfficacy,
  fitBetaBinomial,
  fromLogit,
  jeffreys,
  logit,
  logitYard,
  poissonLimits,
  type Share,
  shareBelow,
  wilsonCounts,
} from '../../shared/index.js';
import { seededChance } from '../../src/units/clock.js';
import { askR, WHY_NO_R } from './askR.js';
import { drawCup, drawMites, drawWhole } from './drawn.js';

/**
 * The core against R on cases that nobody has seen before: other ones in every run, so that the reference is
 * more than a fixture. ASSAY_SEED=N repeats a run. All values are computed by R 4.2.2 and metafor 3.8-1 or
 * what stands in for them, script tests/reference/assay-live.R.
 */
const SEED = Number(process.env['ASSAY_SEED'] ?? randomInt(2 ** 31));
const { uniform } = seededChance(SEED);
const CASES = 40;
const times = <T>(count: number, draw: () => T): T[] => Array.from({ length: count }, draw);
const pick = <T>(choices: readonly T[]): T => choices[drawWhole(uniform, 0, choices.length - 1)]!;
const level = (): number => pick([0.9, 0.95, 0.975, 0.99]);
const words = (shares: readonly Share[]): string =>
  shares.map(({ part, whole }) => `${part}:${whole}`).join(' ');

const drawn = {
  limits: times(CASES, () => {
    const n = drawWhole(uniform, 1, 400);
    return { level: level(), x: pick([0, n, drawWhole(uniform, 0, n), drawWhole(uniform, 0, n)]), n };
  }),
  cups: times(CASES / 2, () => ({
    level: level(),
    cups: times(drawWhole(uniform, 2, 24), () => {
      const mites = Math.max(1, drawMites(uniform, 10, 1.5));
      return drawCup(uniform, mites, 0.7, pick([0, 0.05, 0.2]));
    }),
  })),
  poisson: times(CASES, () => ({ level: level(), x: drawWhole(uniform, 0, pick([5, 60, 2000])) })),
  abbott: times(CASES, () => ({
    level: level(),
    treated: { tray: drawWhole(uniform, 0, 90), wash: drawWhole(uniform, 1, 90) },
    control: { tray: drawWhole(uniform, 0, 20), wash: drawWhole(uniform, 1, 60) },
  })),
  arms: times(CASES, () => ({
    level: level(),
    pairs: times(drawWhole(uniform, 2, 12), () =>
      [0.8, 0.5].map((mu) => drawCup(uniform, Math.max(1, drawMites(uniform, 10, 1.5)), mu, 0.1)),
    ),
  })),
  season: times(3, () => {
    const spread = pick([0, 0.1, 0.2]);
    return {
      level: pick([0.9, 0.95]),
      line: 0.7,
      yards: times(drawWhole(uniform, 3, 9), () =>
        drawCup(uniform, drawWhole(uniform, 15, 120), 0.75, spread),
      ),
    };
  }),
};

const questions = {
  limits: drawn.limits.map((c) => `limits ${c.level} ${c.x} ${c.n}`),
  cups: drawn.cups.map((c) => `cups ${c.level} ${words(c.cups)}`),
  poisson: drawn.poisson.map((c) => `poisson ${c.level} ${c.x}`),
  abbott: drawn.abbott.map(
    (c) => `abbott ${c.level} ${c.treated.tray} ${c.treated.wash} ${c.control.tray} ${c.control.wash}`,
  ),
  arms: drawn.arms.map(
    (c) => `arms ${c.level} ${c.pairs.map((pair) => words(pair).replace(' ', ',')).join(' ')}`,
  ),
  season: drawn.season.map(
    (c) => `season ${c.level} ${c.line} ${c.yards.map((y) => `${y.part / y.whole}:${y.whole}`).join(' ')}`,
  ),
};
type Kind = keyof typeof questions;
const KINDS = Object.keys(questions) as Kind[];

/** Whether two lists agree to within `tolerance`, null only with null. */
const agree = (own: readonly (number | null)[], r: readonly (number | null)[], tolerance: number): boolean =>
  own.length === r.length &&
  own.every((value, i) => {
    const other = r[i] ?? null;
    return value === null || other === null ? value === other : Math.abs(value - other) <= tolerance;
  });

describe.skipIf(WHY_NO_R)(`the core beside R, seed ${SEED} ${WHY_NO_R ?? ''}`, () => {
  const answers = {} as Record<Kind, (number | null)[][]>;
  beforeAll(() => {
    const all = askR(KINDS.flatMap((kind) => questions[kind]));
    for (const kind of KINDS) answers[kind] = all.splice(0, questions[kind].length);
  });

  /** Every case in which core and R differ, with both, so that a failure shows what to look at. */
  const differing = <Case>(
    kind: Kind,
    cases: readonly Case[],
    own: (one: Case) => readonly (number | null)[],
    tolerance: number,
    ofR = (values: (number | null)[]): (number | null)[] => values,
  ): unknown[] =>
    cases.flatMap((one, i) => {
      const [mine, theirs] = [own(one), ofR(answers[kind][i] ?? [])];
      return agree(mine, theirs, tolerance) ? [] : [{ asked: questions[kind][i], mine, theirs }];
    });

  it('wilsonCounts(), clopperPearson() and jeffreys() agree with prop.test, binom.test and qbeta to 1e-9', () => {
    const own = ({ x, n, level }: (typeof drawn.limits)[number]): number[] =>
      [wilsonCounts, clopperPearson, jeffreys].flatMap((limits) => limits(x, n, level));
    const withoutCorrection = (v: (number | null)[]): (number | null)[] => [...v.slice(0, 2), ...v.slice(4)];
    expect(differing('limits', drawn.limits, own, 1e-9, withoutCorrection)).toEqual([]);
  });

  it('wilsonCounts() differs from prop.test left to correct for continuity, unless half fell', () => {
    const own = ({ x, n, level }: (typeof drawn.limits)[number]) => wilsonCounts(x, n, level);
    const corrected = (v: (number | null)[]): (number | null)[] => v.slice(2, 4);
    // At one half prop.test has nothing to correct.
    const others = drawn.limits.filter(({ x, n }) => 2 * x !== n);
    expect(others.length).toBeGreaterThan(CASES / 2);
    expect(differing('limits', drawn.limits, own, 1e-6, corrected)).toHaveLength(others.length);
  });

  it('clusteredEfficacy() agrees to 1e-9', () => {
    const own = ({ cups, level }: (typeof drawn.cups)[number]): (number | null)[] => {
      const { efficacy, designEffect, effectiveMites, interval } = clusteredEfficacy(cups, level);
      return [efficacy, designEffect, effectiveMites, ...(interval ?? [])];
    };
    expect(differing('cups', drawn.cups, own, 1e-9, (v) => v.slice(0, 5))).toEqual([]);
  });

  it('fitBetaBinomial() agrees with direct maximum likelihood to 1e-5', () => {
    const own = ({ cups }: (typeof drawn.cups)[number]): (number | null)[] => {
      const fit = fitBetaBinomial(cups);
      return [fit?.mu ?? null, fit?.rho ?? null];
    };
    expect(differing('cups', drawn.cups, own, 1e-5, (v) => v.slice(5))).toEqual([]);
  });

  it('poissonLimits() agree with poisson.test to 1e-8 of their size', () => {
    const own = ({ x, level }: (typeof drawn.poisson)[number]): number[] =>
      poissonLimits(x, level).map((limit) => limit / (x + 1));
    let i = 0;
    const relative = (v: (number | null)[]): (number | null)[] => {
      const { x } = drawn.poisson[i++]!;
      return v.map((limit) => (limit ?? 0) / (x + 1));
    };
    expect(differing('poisson', drawn.poisson, own, 1e-8, relative)).toEqual([]);
  });

  it('abbott() agrees to 1e-9', () => {
    const own = ({ treated, control, level }: (typeof drawn.abbott)[number]): (number | null)[] => {
      const { efficacyCorrected, interval } = abbott(treated, control, level);
      return [efficacyCorrected, ...(interval ?? [])];
    };
    expect(differing('abbott', drawn.abbott, own, 1e-9)).toEqual([]);
  });

  it('pairedDifference() agrees to 1e-9', () => {
    const own = ({ pairs, level }: (typeof drawn.arms)[number]): (number | null)[] => {
      const [first, second] = [0, 1].map((arm) => pairs.map((pair) => pair[arm]!));
      const result = pairedDifference(first!, second!, level);
      return [result?.difference ?? null, ...(result?.interval ?? [])];
    };
    expect(differing('arms', drawn.arms, own, 1e-9)).toEqual([]);
  });

  it('betweenYards() agrees with metafor to 1e-5', () => {
    const own = ({ yards, level }: (typeof drawn.season)[number]): (number | null)[] => {
      const fit = betweenYards(
        yards.map(({ part, whole }) => logitYard(part / whole, whole)),
        level,
      )!;
      const back = (values: readonly number[]): number[] => values.map(fromLogit);
      return [
        fit.sd ** 2,
        ...back([fit.mean, ...fit.meanInterval]),
        fit.cochranQ,
        ...back(fit.prediction ?? []),
      ];
    };
    expect(differing('season', drawn.season, own, 1e-5, (v) => v.slice(0, 7))).toEqual([]);
  });

  it('shareBelow() agrees with numerical integration to 2e-3', () => {
    const own = ({ yards, level, line }: (typeof drawn.season)[number]): readonly number[] => {
      const logits = yards.map(({ part, whole }) => logitYard(part / whole, whole));
      return shareBelow(logits, betweenYards(logits, level)!, logit(line), level).interval;
    };
    expect(differing('season', drawn.season, own, 2e-3, (v) => v.slice(7))).toEqual([]);
  });
});
