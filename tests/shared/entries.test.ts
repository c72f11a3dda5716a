import { describe, expect, it } from 'vitest';
import { efficacyReport } from '../../shared/index.js';
import { entryOf, noStrip, sixCups, strip } from './reference.js';

describe('efficacyReport() entries', () => {
  it('keeps arms and yards apart, in order of first appearance, and never splits by mother line', () => {
    const cups = [
      strip(1, 1, { yard: 'B', arm: 'x' }),
      strip(1, 1, { yard: 'A' }),
      strip(1, 1, { yard: 'B', arm: 'y', group: 'g1' }),
      strip(1, 1, { yard: 'B', arm: 'x', group: 'g2' }),
    ];
    expect(efficacyReport(cups).yards.map(({ yard, arm, tray }) => [yard, arm, tray])).toEqual([
      ['B', 'x', 2],
      ['A', null, 1],
      ['B', 'y', 1],
    ]);
  });

  it('takes the cups of one colony as one cluster', () => {
    const pairs = ['K1', 'K2', 'K3'].flatMap((colony) => [strip(2, 3, { colony }), strip(4, 1, { colony })]);
    const entry = entryOf(pairs);
    // Each colony has 6 of 10: no spread between colonies, though cups differ.
    expect(entry.designEffect).toBeCloseTo(0, 12);
    expect(entryOf(pairs.map((cup) => ({ ...cup, colony: null }))).designEffect).toBeGreaterThan(0.5);
  });

  it('counts a cup by the mother line that another cup of its colony names', () => {
    const cups = [
      strip(5, 5, { colony: 'K1', group: 'g' }),
      strip(5, 5, { colony: 'K1' }),
      strip(5, 5, { colony: 'K2', group: 'g' }),
      strip(5, 5, { colony: 'K3' }),
    ];
    expect(entryOf(cups).byGroup?.k).toBe(2);
    expect(entryOf(sixCups()).byGroup).toBeNull();
  });

  it('tells valid, excluded, unread and empty cups apart and never takes unread for 0', () => {
    const cups = [
      ...sixCups(),
      strip(null, 4),
      strip(4, null),
      strip(0, 0),
      strip(0, 9, { ruling: 'cold' }),
      strip(null, null, { ruling: 'spoiled' }),
    ];
    const entry = entryOf(cups);
    expect(entry.cups).toEqual({ valid: 9, excluded: 2, unread: 2, empty: 1 });
    expect(entry).toMatchObject({ tray: 45, wash: 15, efficacy: 0.75 });
    expect(entry.remarks).toContain('2 valid cups are not read');
  });

  it('gives the estimate with every read cup but the spoiled ones beside its own', () => {
    const entry = entryOf([
      ...sixCups(),
      ...[1, 2, 3, 4, 5, 6].map(() => strip(0, 10, { ruling: 'cold' })),
      strip(0, 50, { ruling: 'spoiled' }),
    ]);
    expect(entry.efficacy).toBe(0.75);
    expect(entry.allCups.efficacy).toBe(45 / 120);
    expect(entry.verdict).toBe('undecided');
    const decided = entryOf([...sixCups(), ...[1, 2, 3, 4, 5, 6].map(() => strip(10, 0, { ruling: 'hot' }))]);
    expect(decided.allCups.efficacy).toBe(105 / 120);
    expect(decided.allCups.verdict).toBe('above-line');
    expect(decided.remarks.join()).toContain('ruled out the result would be above the 70 % line');
  });

  it.each([
    ['every cup ruled out', [strip(5, 5, { ruling: 'cold' })], 'every cup with a strip was ruled out'],
    ['nothing read', [strip(null, 5), strip(5, null)], 'no valid cup with a strip was read'],
    ['no mites', [strip(0, 0), strip(0, 0)], 'no valid cup with a strip was read and held mites'],
    ['only cups without strip', [noStrip(1, 9)], 'no cup with a strip'],
  ] as const)('knows nothing with %s', (_, cups, remark) => {
    expect(entryOf(cups)).toMatchObject({
      verdict: 'too-few',
      efficacy: null,
      interval: null,
      designEffect: null,
      effectiveMites: 0,
      naiveInterval: null,
      meanOfCups: null,
      betaBinomial: null,
      byGroup: null,
      moreCups: null,
      remarks: expect.arrayContaining([expect.stringContaining(remark)]),
    });
  });

  it('has no entry and no cup without input', () => {
    expect(efficacyReport([])).toEqual({ level: 0.95, yards: [], cups: [] });
  });

  it('gives one colony an efficacy but no interval and no verdict, however many mites', () => {
    const entry = entryOf(sixCups({ colony: 'K' }));
    expect(entry).toMatchObject({
      verdict: 'too-few',
      efficacy: 0.75,
      interval: null,
      designEffect: null,
      moreCups: null,
      effectiveMites: 60,
    });
    expect(entry.naiveInterval).not.toBeNull();
  });

  it('needs five cups with mites and twenty mites, or what the options say', () => {
    const cups = [0, 0, 0, 0].map(() => strip(0, 10));
    expect(entryOf([...cups, strip(0, 0)]).verdict).toBe('too-few');
    expect(entryOf(cups, { minCups: 4 }).verdict).toBe('below-line');
    expect(entryOf([...cups, strip(0, 1)]).verdict).toBe('below-line');
    const few = [3, 4, 4, 4, 4].map((wash) => strip(0, wash));
    expect(entryOf(few).verdict).toBe('too-few');
    expect(entryOf(few, { minMites: 19 }).verdict).toBe('below-line');
    expect(entryOf([...few, strip(0, 1)]).verdict).toBe('below-line');
  });

  it('remarks on a mean of cups on the other side of the line, and on cool cups', () => {
    const entry = entryOf([
      strip(38, 2, { cool: true }),
      ...[0, 1, 0, 1].map((tray) => strip(tray, 2 - tray)),
    ]);
    expect(entry.efficacy).toBeGreaterThan(0.7);
    expect(entry.meanOfCups).toBeLessThan(0.7);
    expect(entry.remarks.join()).toContain('lies on the other side of the 70 % line');
    expect(entry.remarks).toContain('the verdict rests on cool cups: 1 of 5');
  });
});
