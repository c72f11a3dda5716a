import { describe, expect, it } from 'vitest';
import { iceTogether } from '../../src/exposure/iceTogether.js';
import { seededChance } from '../../src/units/clock.js';

const alike = (count: number, offset: number) => Array.from({ length: count }, () => offset);

describe('iceTogether()', () => {
  it('asks, and further off refuses, when all probes read off to one side', () => {
    // By hand: 0.5 / root 3 / root 10 = 0.09129; asked from 0.1789, refused from 0.2739.
    const verdicts = [0.178, 0.18, 0.273, 0.275].map((offset) => iceTogether(alike(10, offset))?.verdict);
    expect(verdicts).toEqual(['likely', 'asked', 'asked', 'refused']);
    expect(iceTogether(alike(10, -0.275))?.verdict).toBe('refused');
    expect(iceTogether(alike(10, 0.34))).toMatchObject({ verdict: 'refused', lowest: 0.34, highest: 0.34 });
    expect(iceTogether(alike(10, 0.34))?.limit).toBeCloseTo(0.2739, 4);
  });

  it('says nothing of one or two probes, and little of three', () => {
    expect(iceTogether(alike(2, 0.45))).toBeNull();
    // By hand: 0.5 / root 3 / root 3 = 0.16667; asked from 0.3267, refused from 0.5.
    expect(iceTogether(alike(3, 0.32))?.verdict).toBe('likely');
    expect(iceTogether(alike(3, 0.45))?.verdict).toBe('asked');
  });

  it('asks about one good bath in twenty and refuses hardly any', () => {
    const chance = seededChance(5);
    const verdicts = Array.from(
      { length: 4000 },
      () => iceTogether(Array.from({ length: 10 }, () => chance.uniform() - 0.5))!.verdict,
    );
    const share = (verdict: string) => verdicts.filter((each) => each === verdict).length / verdicts.length;
    expect(share('likely')).toBeGreaterThan(0.94);
    expect(share('refused')).toBeLessThan(0.005);
    expect(share('refused') + share('asked')).toBeGreaterThan(0.03);
  });
});
