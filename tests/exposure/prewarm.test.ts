import { describe, expect, it } from 'vitest';
import { prewarmMinutes } from '../../src/exposure/prewarm.js';

describe('prewarmMinutes()', () => {
  it('is the time for a difference to decay to the remainder', () => {
    // By hand: 240 ln(15 / 0.5) / 60 = 4 x 3.4012 = 13.60.
    expect(prewarmMinutes(240)).toBeCloseTo(13.6, 2);
    // By hand: one time constant leaves 1/e.
    expect(prewarmMinutes(300, 10, 10 / Math.E)).toBeCloseTo(5, 10);
    expect(prewarmMinutes(240, 0.4, 0.5)).toBe(0);
  });
});
