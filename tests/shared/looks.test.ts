import { describe, expect, it } from 'vitest';
import { efficacyReport, levelOfLook } from '../../shared/index.js';
import { noStrip, strip } from './reference.js';

const cups = [6, 8, 5, 9, 4, 7].map((tray, i) =>
  strip(tray, 10 - tray, { yard: 'A', bees: 300, group: `G${i % 3}` }),
);
const entryOf = (looks: number | Record<string, number>) =>
  efficacyReport([...cups, noStrip(2, 18, { yard: 'A' })], { looks, recovery: { first: 90, second: 10 } })
    .yards[0]!;

describe('levelOfLook()', () => {
  it('shares what the level leaves out over the looks', () => {
    expect(levelOfLook(0.95, 1)).toBeCloseTo(0.95, 14);
    expect(levelOfLook(0.95, 2)).toBeCloseTo(0.975, 14);
    expect(levelOfLook(0.95, 5)).toBeCloseTo(0.99, 14);
  });

  it.each([0, -1, 1.5, 101, Number.NaN])('refuses %d looks', (looks) => {
    expect(() => levelOfLook(0.95, looks)).toThrow('whole number from 1 to 100');
    expect(() => efficacyReport(cups, { looks })).toThrow('whole number from 1 to 100');
  });

  it('takes 100 looks', () => {
    expect(levelOfLook(0.95, 100)).toBeCloseTo(0.9995, 14);
  });
});

describe('efficacyReport() with looks', () => {
  it('gives every interval of the efficacy the level of a look, and states it', () => {
    const shared = entryOf(2);
    const wide = efficacyReport([...cups, noStrip(2, 18, { yard: 'A' })], {
      level: 0.975,
      recovery: { first: 90, second: 10 },
    }).yards[0]!;
    expect(shared.looks?.count).toBe(2);
    expect(shared.looks?.level).toBeCloseTo(0.975, 14);
    expect(shared.remarks[0]).toContain('one of 2 looks at this yard');
    expect(shared.remarks[0]).toContain('97.5 %');
    for (const key of ['interval', 'naiveInterval', 'byGroup', 'allCups', 'control', 'recovery'] as const)
      expect(shared[key]).toEqual(wide[key]);
  });

  it('leaves the infestation, the estimate and the cups as they are', () => {
    const [once, thrice] = [entryOf(1), entryOf(3)];
    expect(thrice.infestation).toEqual(once.infestation);
    expect(thrice.efficacy).toBe(once.efficacy);
    expect(thrice.interval![0]).toBeLessThan(once.interval![0]);
    expect(thrice.interval![1]).toBeGreaterThan(once.interval![1]);
    expect(once).not.toHaveProperty('looks');
  });

  it('can be told by yard, and takes one look for a yard that is not named', () => {
    const report = efficacyReport([...cups, strip(5, 5, { yard: 'toString' })], { looks: { A: 2 } });
    expect(report.yards.map(({ looks }) => looks?.count)).toEqual([2, undefined]);
  });
});
