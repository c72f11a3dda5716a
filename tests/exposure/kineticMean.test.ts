import { describe, expect, it } from 'vitest';
import { kineticMean, kineticMeanOf } from '../../src/exposure/kineticMean.js';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import { celsius } from '../../src/units/temperature.js';
import { judge } from './judgeRound.js';
import { exposure, from, steady, trace } from './traces.js';

const equal = (...degrees: number[]) => degrees.map((each) => ({ celsius: celsius(each), weight: 1 }));

describe('kineticMean()', () => {
  // computed by the formula of USP 29, chapter 1160, in 40-digit decimals; no published example has inputs and answer
  it.each([
    [equal(25), 25],
    [equal(20, 30), 26.2599],
    [equal(15, 20, 25, 30), 24.1041],
    [equal(5, 25), 19.6977],
    [equal(20, 20, 20, 40), 29.6279],
    [equal(4, 4, 4, 4, 16), 8.1089],
    [
      [
        { celsius: celsius(22), weight: 10 },
        { celsius: celsius(10), weight: 2 },
      ],
      20.8214,
    ],
  ])('agrees with computed values (case %#)', (temperatures, expected) =>
    expect(kineticMean(temperatures)).toBeCloseTo(expected, 4),
  );

  it('is not the arithmetic mean', () => expect(kineticMean(equal(20, 30))).not.toBeCloseTo(25, 0));

  it('is null without weight', () => {
    expect(kineticMean([])).toBeNull();
    expect(kineticMean([{ celsius: celsius(20), weight: 0 }])).toBeNull();
  });
});

describe('kineticMeanOf()', () => {
  const rules = { ...DEFAULT_RULES, maxGapSeconds: 600 };

  it('weighs by observed time, by the trapezoid on the exponentials', () => {
    // 20 degC for 10 min, up to 30 in 10 min, 30 for 10 min: as 20 and 30 with equal weights
    const readings = trace([0, 20], [10, 20], [20, 30], [30, 30]);
    expect(kineticMeanOf(exposure(30), from(readings), rules)).toBeCloseTo(26.2599, 4);
    // the gap of 20 min counts for nothing
    const gap = [...trace([0, 20], [10, 20]), ...trace([30, 30], [40, 30])];
    expect(kineticMeanOf(exposure(40), from(gap), rules)).toBeCloseTo(26.2599, 4);
  });

  it('is null when nothing is observed', () => {
    expect(kineticMeanOf(exposure(30), from([]), rules)).toBeNull();
  });

  it('hides a cold spell, which is why it never rules', () => {
    const readings = [...steady(0, 90, 30), ...steady(90.5, 103, 12), ...steady(103.5, 180, 30)];
    const mean = kineticMeanOf(exposure(180), from(readings), DEFAULT_RULES);
    expect(mean).toBeGreaterThan(28);
    expect(judge(readings).ruling).toBe('cold');
  });
});
