import { describe, expect, it } from 'vitest';
import { judgeExposure } from '../../src/exposure/judge.js';
import { DEFAULT_RULES } from '../../src/exposure/ruleSet.js';
import { rulingToJson } from '../../src/exposure/rulingJson.js';
import { exposure, from, steady } from './traces.js';

describe('rulingToJson()', () => {
  it('has the keys of the command contract in its order, and gap times in UTC with milliseconds', () => {
    const json = rulingToJson(judgeExposure(exposure(180), from(steady(0, 170, 30)), DEFAULT_RULES));
    expect(Object.keys(json)).toEqual([
      'cup',
      'ruling',
      'reasons',
      'exposureMinutes',
      'observedMinutes',
      'coldMinutes',
      'longestColdSpellMinutes',
      'hotMinutes',
      'longestHotSpellMinutes',
      'minCelsius',
      'maxCelsius',
      'meanCelsius',
      'degreeMinutesBelow',
      'gaps',
      'remarks',
    ]);
    expect(json.gaps).toEqual([{ from: '2026-05-01T08:50:00.000Z', to: '2026-05-01T09:00:00.000Z' }]);
    expect(JSON.parse(JSON.stringify(json))).toEqual(json);
  });
});
