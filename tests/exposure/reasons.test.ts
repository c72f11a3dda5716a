import { describe, expect, it } from 'vitest';
import { type Findings, reasonsFor, remarksFor, told } from '../../src/exposure/reasons.js';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import type { Celsius } from '../../src/units/temperature.js';

const NONE = { certain: 0, possible: 0 };
const GOOD: Findings = {
  warmUps: [],
  spoiled: null,
  exposureMinutes: 180,
  exposureMinutesLeast: 180,
  exposureMinutesMost: 180,
  coldMinutes: NONE,
  longestColdSpellMinutes: NONE,
  hotMinutes: NONE,
  longestHotSpellMinutes: NONE,
  minCelsius: 30 as Celsius,
  maxCelsius: 30 as Celsius,
  meanCelsius: 30 as Celsius,
};
const sentences = (change: Partial<Findings>) =>
  reasonsFor({ ...GOOD, ...change }, DEFAULT_RULES).map(({ sentence }) => sentence);

describe('reasonsFor()', () => {
  it('finds none in a good exposure', () => expect(sentences({})).toEqual([]));

  it('words each reason with its minutes', () => {
    expect(
      sentences({
        spoiled: 'queen in the cup',
        exposureMinutes: 200,
        exposureMinutesLeast: 200,
        exposureMinutesMost: 200,
        coldMinutes: { certain: 12, possible: 19 },
        longestColdSpellMinutes: { certain: 6, possible: 19 },
        hotMinutes: { certain: 2, possible: 9 },
        longestHotSpellMinutes: { certain: 2, possible: 7 },
      }),
    ).toEqual([
      'spoiled: queen in the cup (exposure of 200 min)',
      'long: exposed for 200 min, 195 are allowed',
      'cold: at least 12, at most 19 min of 200, longest spell at least 6, at most 19 min; allowed are 10 min in total and 5 min in one spell',
      'unproven: hot for at least 2, at most 9 min of 200, longest spell at least 2, at most 7 min; allowed are 5 min in one spell',
    ]);
  });
});

describe('remarksFor()', () => {
  it('is silent at the limits and speaks past them', () => {
    const remarks = (change: Partial<Findings>) => remarksFor({ ...GOOD, ...change }, DEFAULT_RULES);
    expect(remarks({ meanCelsius: 25 as Celsius, maxCelsius: 38 as Celsius })).toEqual([]);
    expect(remarks({ meanCelsius: null, maxCelsius: null })).toEqual([]);
    expect(remarks({ meanCelsius: 24.9999 as Celsius, maxCelsius: 38.0625 as Celsius })).toEqual([
      'cool: the mean was 24.9999 °C, below 25 °C; older published tests ran at 30 °C',
      'hot warning: the warmest reading was 38.1 °C, above 38 °C',
    ]);
  });
});

describe('told()', () => {
  it('gives one decimal, and more only where fewer would look like the limit', () => {
    expect([told(12), told(12.04), told(12.06), told(1 / 3)]).toEqual(['12', '12', '12.1', '0.3']);
    expect([told(174.96, [175]), told(175.04, [175]), told(10.0001, [10]), told(10, [10])]).toEqual([
      '174.96',
      '175.04',
      '10.0001',
      '10',
    ]);
  });
});
