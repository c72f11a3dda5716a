import { describe, expect, it } from 'vitest';
import { PROBE_STATUSES } from '../../src/carrier/wire/frames.js';
import { distinct, isPlausible, trustworthy } from '../../src/exposure/trustworthy.js';
import { Refusal } from '../../src/units/refusal.js';
import { trace } from './traces.js';

describe('trustworthy()', () => {
  it.each([
    [0x0191, 25.0625], // DS18B20 datasheet 19-7487 Rev 4, table 1
    [0x0008, 0.5], // the same
    [-8, -0.5], // the same, FFF8h
    [0, 0], // the same: 0 itself is a temperature, the board marks an all-zero scratchpad
    [960, 60], // last inside
    [-320, -20], // last inside
  ])('takes %d sixteenths as %d degC', (raw, degrees) => expect(trustworthy('ok', raw)).toBe(degrees));

  it.each([
    [961, /outside -20 to 60/], // one past
    [-321, /outside -20 to 60/], // one past
    [0x0550, /85 °C is outside/], // +85, the power-on value: DS18B20 datasheet 19-7487 Rev 4, table 1
    [0x07ff, /127\.9375 °C is outside/], // not enough power while converting: Linux kernel documentation, w1_therm
    [-7040, /outside/], // -440 degC is no temperature at all
    [null, /no value/],
  ])('rejects %d', (raw, reason) =>
    expect(trustworthy('ok', raw)).toEqual({ rejected: expect.stringMatching(reason) }),
  );

  it('rejects every status but ok, with words of its own, whatever the value', () => {
    const reasons = Object.keys(PROBE_STATUSES)
      .filter((status) => status !== 'ok')
      .map((status) => {
        const result = trustworthy(status, 400);
        expect(result).toEqual({ rejected: expect.stringMatching(/^the probe/) });
        return (result as { rejected: string }).rejected;
      });
    expect(new Set(reasons).size).toBe(reasons.length);
    expect(trustworthy('odd', 400)).toEqual({ rejected: 'the board marked the value odd' });
  });
});

describe('isPlausible()', () => {
  it('takes -20 and 60 as possible and nothing beyond', () => {
    expect([-20, 60, -20.0001, 60.0001, Number.NaN].map(isPlausible)).toEqual([
      true,
      true,
      false,
      false,
      false,
    ]);
  });
});

describe('distinct()', () => {
  it('collapses identical duplicates', () => {
    expect(distinct(trace([0, 20], [1, 21], [1, 21], [1, 21], [2, 20]), 'P')).toEqual(
      trace([0, 20], [1, 21], [2, 20]),
    );
    expect(distinct([], 'P')).toEqual([]);
  });

  it('refuses two different readings at one instant, naming probe, instant and both', () => {
    expect(() => distinct(trace([1, 21], [1, 21.0625]), 'P')).toThrow(Refusal);
    expect(() => distinct(trace([1, 21], [1, 21.0625]), 'P')).toThrow(
      'probe P has two different readings at 2026-05-01T06:01:00.000Z, 21 and 21.0625 °C; flag the wrong one',
    );
  });

  it('does not accept observations that are out of order', () => {
    expect(() => distinct(trace([2, 21], [1, 21]), 'P')).toThrow(RangeError);
  });
});
