import { describe, expect, it } from 'vitest';
import { DEFAULT_RULES, parseRules, rulesToJson } from '../../src/exposure/ruleSet.js';
import { Refusal } from '../../src/units/refusal.js';
import { toFahrenheit } from '../../src/units/temperature.js';

describe('DEFAULT_RULES', () => {
  it('holds the figures of the documents', () => {
    // common practice (threshold, exposure, line) and judgement, no source
    expect(rulesToJson(DEFAULT_RULES)).toEqual({
      name: 'default',
      version: 1,
      thresholdCelsius: 140 / 9,
      coldTotalMinutes: 10,
      coldSpellMinutes: 5,
      hotWarningCelsius: 38,
      hotCelsius: 40,
      hotSpellMinutes: 5,
      hotAlarmCelsius: 45,
      exposureMinutes: 180,
      exposureMinutesMin: 175,
      exposureMinutesMax: 195,
      maxGapSeconds: 60,
      coolMeanCelsius: 25,
      line: 0.7,
      minCups: 5,
      minMites: 20,
      level: 0.95,
    });
    expect(toFahrenheit(DEFAULT_RULES.thresholdCelsius)).toBeCloseTo(60, 12);
  });
});

describe('parseRules()', () => {
  it('changes what the file names and keeps the rest', () => {
    expect(parseRules({ name: 'spring', version: '2.1', maxGapSeconds: 600 }, 'r.json')).toEqual({
      ...DEFAULT_RULES,
      name: 'spring',
      version: '2.1',
      maxGapSeconds: 600,
    });
    expect(parseRules({}, 'r.json')).toEqual(DEFAULT_RULES);
    expect(parseRules(rulesToJson(DEFAULT_RULES), 'r.json')).toEqual(DEFAULT_RULES);
  });

  it.each([
    ['a list', [], /^r\.json: not a rule set; write a JSON object/],
    ['a text', 'x', /^r\.json: not a rule set/],
    ['null', null, /^r\.json: not a rule set/],
    ['an unknown key', { treshold: 1 }, /^r\.json: unknown key treshold; .*thresholdCelsius/],
    [
      'a quoted number',
      { maxGapSeconds: '60' },
      /^r\.json: key maxGapSeconds: write a number without quotes/,
    ],
    ['null as a value', { line: null }, /^r\.json: key line: write a number/],
    ['a percentage', { line: 70 }, /^r\.json: key line: write a fraction between 0 and 1/],
    ['a gap of nothing', { maxGapSeconds: 0 }, /^r\.json: key maxGapSeconds: write seconds above 0/],
    ['negative minutes', { coldSpellMinutes: -1 }, /^r\.json: key coldSpellMinutes: write minutes from 0 on/],
    ['half a cup', { minCups: 4.5 }, /^r\.json: key minCups: write a whole number/],
    ['degrees Fahrenheit', { hotCelsius: 140 }, /^r\.json: key hotCelsius: write degrees Celsius/],
    ['an empty name', { name: '' }, /^r\.json: key name: write at least one letter/],
    ['min above max', { exposureMinutesMin: 200 }, /^r\.json: key exposureMinutesMin: 200 is above/],
    ['due outside', { exposureMinutes: 200 }, /^r\.json: key exposureMinutes: a cup turned when due/],
    [
      'cold above hot',
      { thresholdCelsius: 41 },
      /^r\.json: key thresholdCelsius: 41 is not below hotCelsius 40/,
    ],
  ])('refuses %s', (_, json, message) => {
    expect(() => parseRules(json, 'r.json')).toThrow(Refusal);
    expect(() => parseRules(json, 'r.json')).toThrow(message);
  });
});
