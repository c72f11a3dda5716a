import { describe, expect, it } from 'vitest';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import { isPast, limitsOf } from '../../src/exposure/spells.js';
import { PLAUSIBLE_MAX, PLAUSIBLE_MIN } from '../../src/exposure/trustworthy.js';
import {
  expandedUncertainty,
  ICE_CHECKED,
  NEVER_CERTAIN,
  U_PLACEMENT_UNMAPPED,
  U_PROBE_ICE_CHECKED,
  U_PROBE_UNCORRECTED,
  UNCORRECTED,
} from '../../src/exposure/uncertainty.js';
import { celsiusDifference } from '../../src/units/temperature.js';

describe('expandedUncertainty()', () => {
  it('is twice the root of the sum of squares', () => {
    // 2 sqrt(0.3^2 + 0.4^2) = 1
    expect(expandedUncertainty(celsiusDifference(0.3), celsiusDifference(0.4))).toBeCloseTo(1, 12);
  });

  it('gives the fixed values, which are rounded up to the thousandth', () => {
    for (const [probe, fixed] of [
      [U_PROBE_UNCORRECTED, UNCORRECTED], // 2 sqrt(0.317^2 + 0.289^2) = 0.85793
      [U_PROBE_ICE_CHECKED, ICE_CHECKED], // 2 sqrt(0.103^2 + 0.289^2) = 0.61360
    ] as const)
      expect(Math.ceil(expandedUncertainty(probe, U_PLACEMENT_UNMAPPED) * 1000) / 1000).toBe(fixed);
  });

  it('has its parts from rectangular half-widths', () => {
    // a rectangular +-a has the standard uncertainty a / sqrt(3): JCGM 100:2008, 4.3.7
    expect(0.5 / Math.sqrt(3)).toBeCloseTo(U_PLACEMENT_UNMAPPED, 3);
    const step = 0.0625 / Math.sqrt(12);
    expect(Math.hypot(0.5 / Math.sqrt(3), step, 0.2 / Math.sqrt(3), 0.1 / Math.sqrt(3))).toBeCloseTo(
      U_PROBE_UNCORRECTED,
      3,
    );
    const tenth = 0.1 / Math.sqrt(3);
    expect(Math.hypot(tenth, tenth, tenth, step, step)).toBeCloseTo(U_PROBE_ICE_CHECKED, 3);
  });
});

describe('NEVER_CERTAIN', () => {
  it('makes every reading that is ever used possibly cold and possibly hot, and none certainly', () => {
    const limits = limitsOf(DEFAULT_RULES);
    for (const degrees of [PLAUSIBLE_MIN, PLAUSIBLE_MAX]) {
      expect(isPast(limits.certainCold, degrees, NEVER_CERTAIN)).toBe(false);
      expect(isPast(limits.certainHot, degrees, NEVER_CERTAIN)).toBe(false);
      expect(isPast(limits.possibleCold, degrees, NEVER_CERTAIN)).toBe(true);
      expect(isPast(limits.possibleHot, degrees, NEVER_CERTAIN)).toBe(true);
    }
  });
});
