import { describe, expect, it } from 'vitest';
import { parseSweep, thresholdSweep } from '../../src/exposure/sweep.js';
import type { Celsius } from '../../src/units/temperature.js';
import { ROUND } from './judgeRound.js';
import { exposure, from, seating, steady } from './traces.js';

/** A cup at a constant temperature, U = 0.5, read by the probe of its name. */
const cupAt = (cup: string) => exposure(180, { cup, seatings: [seating(cup, 0, 180, 0.5)] });
const READINGS = from({ cool: steady(0, 180, 15.8), warm: steady(0, 180, 18), cold: steady(0, 180, 13) });
const CUPS = ['cool', 'warm', 'cold'].map(cupAt);

describe('thresholdSweep()', () => {
  it('names the cups that another threshold, or U = 0, would rule otherwise', () => {
    // threshold 16 and U 0.5: 15.8 is possibly cold, 18 is not, 13 certainly is
    const sweep = thresholdSweep(CUPS, READINGS, ROUND, [12, 16, 17] as Celsius[]);
    expect(sweep).toEqual([
      {
        thresholdCelsius: 12,
        uncertainty: 'stated',
        counts: { valid: 3 },
        changed: [
          { cup: 'cool', from: 'unproven', to: 'valid' },
          { cup: 'cold', from: 'cold', to: 'valid' },
        ],
      },
      {
        thresholdCelsius: 12,
        uncertainty: 'zero',
        counts: { valid: 3 },
        changed: [
          { cup: 'cool', from: 'unproven', to: 'valid' },
          { cup: 'cold', from: 'cold', to: 'valid' },
        ],
      },
      {
        thresholdCelsius: 16,
        uncertainty: 'stated',
        counts: { unproven: 1, valid: 1, cold: 1 },
        changed: [],
      },
      {
        thresholdCelsius: 16,
        uncertainty: 'zero',
        counts: { cold: 2, valid: 1 },
        changed: [{ cup: 'cool', from: 'unproven', to: 'cold' }],
      },
      {
        thresholdCelsius: 17,
        uncertainty: 'stated',
        counts: { cold: 2, valid: 1 },
        changed: [{ cup: 'cool', from: 'unproven', to: 'cold' }],
      },
      {
        thresholdCelsius: 17,
        uncertainty: 'zero',
        counts: { cold: 2, valid: 1 },
        changed: [{ cup: 'cool', from: 'unproven', to: 'cold' }],
      },
    ]);
  });

  it('changes nothing at the threshold that stands, and never with the wrong uncertainty', () => {
    const [stated, exact] = thresholdSweep(CUPS, READINGS, ROUND, [16 as Celsius]);
    expect(stated?.changed).toEqual([]);
    expect(exact?.changed).not.toEqual([]);
  });

  it('refuses a threshold that is not below the hot limit', () => {
    expect(() => thresholdSweep(CUPS, READINGS, ROUND, [40 as Celsius])).toThrow(
      /a threshold of 40 °C is not below the hot limit of 40 °C/,
    );
  });
});

describe('parseSweep()', () => {
  it.each([
    ['12..14', [12, 12.5, 13, 13.5, 14]],
    ['12..14/1', [12, 13, 14]],
    ['-1..0/0.5', [-1, -0.5, 0]],
    ['15.5..15.5', [15.5]],
    ['15..15.3/0.1', [15, 15.1, 15.2, 15.3]],
    ['12..13.9/1', [12, 13]],
  ])('reads %s', (text, thresholds) => expect(parseSweep(text)).toEqual(thresholds));

  it.each(['12', '12-20', '12..', '..20', '12..20/', 'a..b', '12...20', ''])('refuses %j', (text) =>
    expect(() => parseSweep(text)).toThrow(/no range of thresholds; write it like 12\.\.20/),
  );

  it('refuses ranges that lead nowhere or take too many steps', () => {
    expect(() => parseSweep('20..12')).toThrow(/lead nowhere/);
    expect(() => parseSweep('12..20/0')).toThrow(/lead nowhere/);
    expect(parseSweep('0..19.9/0.1')).toHaveLength(200);
    expect(() => parseSweep('0..20/0.1')).toThrow(/201 steps, at most 200/);
  });
});
