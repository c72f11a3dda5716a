import { describe, expect, it } from 'vitest';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import { type Celsius, fromSixteenths } from '../../src/units/temperature.js';
import { judge } from './judgeRound.js';
import { steady, trace } from './traces.js';

describe('judgeExposure() agrees with worked figures', () => {
  /** Minutes and degrees Celsius; steps of ten minutes, so the rule set allows gaps of 600 s. */
  const POINTS = trace([0, 16], [10, 15], [20, 14], [30, 15], [40, 17]);

  // degree-minutes and minutes below a limit: computed by hand (areas of triangles and trapezoids between the
  // interpolated crossings), no published source. 15.5: crossings at 5 and 32.5 min;
  // 0.5*5*0.5 + 10*(0.5+1.5)/2 * 2 + 0.5*2.5*0.5 = 1.25 + 10 + 10 + 0.625 = 21.875
  it.each([
    [15, 10, 20],
    [15.5, 21.875, 27.5],
    [140 / 9, 23.4259, 28.3333],
  ])('below %d', (threshold, degreeMinutes, minutesBelow) => {
    const rules = { ...DEFAULT_RULES, thresholdCelsius: threshold as Celsius, maxGapSeconds: 600 };
    const ruling = judge(POINTS, { turnMinute: 40 }, rules);
    expect(ruling.degreeMinutesBelow).toBeCloseTo(degreeMinutes, 4);
    expect(ruling.coldMinutes.certain).toBeCloseTo(minutesBelow, 4);
    // areas: 10 * (15.5 + 14.5 + 14.5 + 16) / 40 min
    expect(ruling.meanCelsius).toBeCloseTo(15.125, 12);
  });

  it('fails to agree when the steps are longer than a gap may be', () => {
    const ruling = judge(POINTS, { turnMinute: 40 }, DEFAULT_RULES);
    expect(ruling.degreeMinutesBelow).toBeNull();
  });

  it('takes code 248 of a 12-bit thermometer as below 60 degF and code 249 as not', () => {
    // 60 degF = 140/9 degC = 248.89 sixteenths: exact arithmetic, no source needed
    expect(judge(steady(0, 180, fromSixteenths(248)), {}, DEFAULT_RULES).ruling).toBe('cold');
    expect(judge(steady(0, 180, fromSixteenths(249)), {}, DEFAULT_RULES).ruling).toBe('valid');
  });
});
