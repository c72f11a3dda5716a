import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type CupCount, efficacyReport, RULINGS, type Ruling, type YardEntry } from '../../shared/index.js';
import { entryOf, noStrip, numbersIn, R, realCups, SCIPY, sixCups, strip } from './reference.js';

describe('efficacyReport() on the real cups', () => {
  it.each(SCIPY.yards)('agrees with assay-check.py on yard $name', (expected) => {
    const report = entryOf(realCups(expected.name), { recovery: { first: 637, second: 47 } });
    const { q, efficacyCorrected, interval } = report.recovery!;
    const entry = { ...report, recovery: { q, efficacyCorrected, interval } };
    const { name, moreCups, byGroup, ...figures } = expected;
    for (const [key, value] of Object.entries({ ...figures, designEffectByGroup: byGroup.designEffect })) {
      const own =
        key === 'designEffectByGroup' ? entry.byGroup?.designEffect : entry[key as keyof typeof figures];
      const [wanted, got] = [numbersIn(value), numbersIn(own)];
      expect(got).toHaveLength(wanted.length);
      got.forEach((number, i) => {
        expect(number).toBeCloseTo(wanted[i] ?? Number.NaN, 9);
      });
    }
    expect(entry.byGroup?.k).toBe(byGroup.k);
    expect(entry.byGroup?.interval?.[0]).toBeCloseTo(byGroup.interval[0], 9);
    expect(entry.byGroup?.interval?.[1]).toBeCloseTo(byGroup.interval[1], 9);
    expect(entry.moreCups).toBe(moreCups);
    const r = R.clustered.find((row) => row.name === `yard ${name}`);
    expect(entry.meanOfCups).toBeCloseTo(r?.meanOfRatios ?? Number.NaN, 9);
  });

  it('leaves yard A undecided, which would be below the line with every mite independent', () => {
    const entry = entryOf(realCups('A'));
    expect(entry.verdict).toBe('undecided');
    expect(entry.naiveInterval?.[1]).toBeLessThan(0.7);
    expect(entry.remarks.join()).toContain('independent the result would be below the 70 % line');
  });

  it('finds yard B below the line, and says that mother lines do not support it', () => {
    const entry = entryOf(realCups('B'));
    expect(entry.verdict).toBe('below-line');
    expect(entry.remarks.join()).toContain('mother lines as clusters the result would be undecided');
  });

  it('would decide yard A wrongly if each mite were its own cup', () => {
    const mites = realCups('A').flatMap((cup) => [
      ...Array.from({ length: cup.tray ?? 0 }, () => strip(1, 0)),
      ...Array.from({ length: cup.wash ?? 0 }, () => strip(0, 1)),
    ]);
    expect(entryOf(mites).verdict).toBe('below-line');
  });
});

describe('efficacyReport() control', () => {
  const treated = (arm: string | null) => [strip(50, 50, { arm })];

  it('corrects by cups without strip, those without an arm for every arm', () => {
    const report = efficacyReport([
      ...treated('x'),
      ...treated('y'),
      noStrip(4, 36),
      noStrip(6, 54, { arm: 'y' }),
      noStrip(60, 0, { ruling: 'hot' }),
      noStrip(null, 3),
    ]);
    const [x, y] = report.yards;
    expect(x?.control).toMatchObject({ cups: 1, tray: 4, wash: 36, fall: 0.1 });
    expect(y?.control).toMatchObject({ cups: 2, tray: 10, wash: 90, fall: 0.1 });
    // 50 % against 10 %: 44.4 % [31.7, 54.8], bottle bioassay guideline and R 4.2.2 as in corrections.test.ts.
    expect(y?.control?.efficacyCorrected).toBeCloseTo(0.444444, 6);
    expect(y?.control?.interval?.[0]).toBeCloseTo(0.316951, 6);
    expect(y?.efficacy).toBe(0.5);
  });

  it('is null without a valid read cup without strip', () => {
    expect(entryOf([...sixCups(), noStrip(3, null), noStrip(3, 3, { ruling: 'cold' })]).control).toBeNull();
  });

  it('gives an arm that has only cups without strip an entry of its own', () => {
    const cups = [...treated('x'), noStrip(1, 9, { arm: 'z' }), noStrip(2, 8)];
    expect(efficacyReport(cups).yards.map(({ arm, control }) => [arm, control?.cups])).toEqual([
      ['x', 1],
      ['z', 2],
    ]);
  });

  it('says so when more fell without a strip, and when nothing survived', () => {
    expect(entryOf([...treated(null), noStrip(90, 10)]).remarks).toContain(
      'more mites fell without a strip than with it',
    );
    const all = entryOf([strip(9, 0), noStrip(1, 9)]);
    expect(all.control).toMatchObject({ efficacyCorrected: 1, interval: null });
    expect(entryOf([strip(5, 5), noStrip(4, 0)]).control).toMatchObject({
      fall: 1,
      efficacyCorrected: null,
      interval: null,
    });
  });
});

describe('efficacyReport() infestation', () => {
  it('counts every read, unspoiled cup with bees, whatever its ruling or kind', () => {
    const entry = entryOf([
      strip(3, 3, { bees: 300 }),
      strip(3, 3, { bees: 300, ruling: 'cold' }),
      noStrip(0, 12, { bees: 300 }),
      strip(90, 90, { bees: 300, ruling: 'spoiled' }),
      strip(null, 9, { bees: 300 }),
      strip(9, 9),
      strip(0, 0, { bees: 0 }),
    ]);
    expect(entry.infestation.per100).toBeCloseTo((100 * 24) / 900, 12);
  });

  it('takes the cups of one colony as one cluster', () => {
    const cups = [3, 6, 9].map((wash) => strip(0, wash, { bees: 300, colony: 'K' }));
    expect(entryOf(cups).infestation).toEqual({ per100: 2, interval: null });
  });

  it('says how many mites there may still be when none was found', () => {
    const entry = entryOf([strip(0, 0, { bees: 150 }), strip(0, 0, { bees: 150 })]);
    expect(entry.infestation).toEqual({ per100: 0, interval: [0, 0] });
    // 0 of 300: exact Poisson upper limit 1.23 per 100, computed by SciPy 1.17.1 (assay-check.py).
    expect(entry.remarks.join()).toContain('up to 1.23 per 100 bees');
  });
});

describe('efficacyReport() cups', () => {
  it('lists every row in input order, without figures for no strip, no mites or not read', () => {
    const rows = [strip(7, 3, { bees: 200 }), noStrip(1, 9, { bees: 400 }), strip(0, 0), strip(null, 2)];
    const { cups } = efficacyReport(rows);
    expect(cups.map(({ cup }) => cup)).toEqual(rows.map(({ cup }) => cup));
    expect(cups.map(({ efficacy }) => efficacy)).toEqual([0.7, null, null, null]);
    expect(cups.map(({ per100 }) => per100)).toEqual([5, 2.5, null, null]);
    // 7 of 10: Wilson [.3968, .8922], computed by R 4.2.2.
    expect(cups[0]?.wilson?.[0]).toBeCloseTo(0.3968, 4);
    expect(cups[0]?.wilson?.[1]).toBeCloseTo(0.8922, 4);
    expect(cups[3]).toMatchObject({ wilson: null, clopperPearson: null, jeffreys: null });
    expect(cups[3]?.remarks).toContain('not read: no tray count');
  });
});

describe('efficacyReport() on any cups', () => {
  const count = fc.option(fc.oneof(fc.nat({ max: 3 }), fc.nat({ max: 60 }), fc.nat({ max: 400 })), {
    freq: 5,
  });
  const name = fc.option(fc.constantFrom('1', '2', '3'));
  const anyCup = fc.record({
    yard: fc.constantFrom('A', 'B'),
    kind: fc.constantFrom('strip' as const, 'strip' as const, 'no-strip' as const),
    tray: count,
    wash: count,
    extraBees: fc.option(fc.nat({ max: 400 })),
    arm: name,
    colony: name,
    group: name,
    ruling: fc.oneof(fc.constant('valid' as Ruling), fc.constantFrom(...RULINGS)),
  });
  const anyCups = fc.array(anyCup, { maxLength: 25 }).map((cups): CupCount[] =>
    cups.map(({ extraBees, ...cup }, i) => ({
      ...cup,
      cup: `c${i}`,
      bees: extraBees === null ? null : (cup.tray ?? 0) + (cup.wash ?? 0) + extraBees,
    })),
  );
  const options = fc.record({
    line: fc.constantFrom(0.5, 0.7, 0.95),
    level: fc.constantFrom(0.8, 0.95, 0.99),
    recovery: fc.constantFrom(undefined, { q: 0.9 }, { first: 20, second: 1 }, { first: 20, second: 0 }),
  });

  it('has only finite numbers, shares within 0 and 1, and is plain data', () => {
    fc.assert(
      fc.property(anyCups, options, (cups, chosen) => {
        const report = efficacyReport(cups, chosen);
        expect(numbersIn(report).every(Number.isFinite)).toBe(true);
        expect(JSON.parse(JSON.stringify(report))).toEqual(report);
        expect(report.cups).toHaveLength(cups.length);
        for (const {
          efficacy,
          interval,
          naiveInterval,
          meanOfCups,
          betaBinomial,
          byGroup,
          allCups,
          recovery,
        } of report.yards) {
          const shown = { efficacy, interval, naiveInterval, meanOfCups, betaBinomial, allCups, recovery };
          const inShares = numbersIn([shown, byGroup?.interval]);
          expect(inShares.every((share) => share >= 0 && share <= 1)).toBe(true);
          if (interval !== null && efficacy !== null) {
            expect(interval[0]).toBeLessThanOrEqual(efficacy + 1e-12);
            expect(interval[1]).toBeGreaterThanOrEqual(efficacy - 1e-12);
          }
        }
      }),
      { numRuns: 200 },
    );
  });

  it('gives the mirror interval when tray and wash swap', () => {
    fc.assert(
      fc.property(anyCups, (cups) => {
        const swapped = cups.map((cup) => ({ ...cup, tray: cup.wash, wash: cup.tray }));
        const mirror = efficacyReport(swapped).yards;
        efficacyReport(cups).yards.forEach((entry, i) => {
          const { interval, designEffect, effectiveMites } = mirror[i] ?? entry;
          expect(interval === null).toBe(entry.interval === null);
          expect(designEffect ?? 0).toBeCloseTo(entry.designEffect ?? 0, 6);
          expect(effectiveMites).toBeCloseTo(entry.effectiveMites, 6);
          if (entry.interval && interval) {
            expect(interval[0]).toBeCloseTo(1 - entry.interval[1], 9);
            expect(interval[1]).toBeCloseTo(1 - entry.interval[0], 9);
          }
        });
      }),
    );
  });

  it('does not depend on the order of the cups', () => {
    fc.assert(
      fc.property(anyCups, (cups) => {
        const key = ({ yard, arm }: YardEntry): string => JSON.stringify([yard, arm]);
        const reversed = new Map(
          efficacyReport([...cups].reverse()).yards.map((entry) => [key(entry), entry]),
        );
        for (const entry of efficacyReport(cups).yards) {
          const other = reversed.get(key(entry));
          expect(other?.verdict).toBe(entry.verdict);
          expect(other?.efficacy ?? null).toEqual(
            entry.efficacy === null ? null : expect.closeTo(entry.efficacy, 12),
          );
          expect(other?.cups).toEqual(entry.cups);
        }
      }),
    );
  });
});
