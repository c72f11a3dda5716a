import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parseDecimal } from '../../src/units/number.js';

describe('parseDecimal()', () => {
  it.each([
    ['1.5', 1.5],
    ['-20', -20],
    ['+60', 60],
    ['.5', 0.5],
    ['5.', 5],
    ['1e-3', 0.001],
    ['007', 7],
  ])('reads %s', (text, value) => expect(parseDecimal(text)).toBe(value));

  it.each([
    '',
    ' ',
    '1,5',
    '60F',
    '1e400',
    '0x10',
    'Infinity',
    'NaN',
    ' 1',
    '1 ',
    '1.2.3',
    '.',
    '-',
    '1e',
    '１',
  ])('refuses %j', (text) => expect(parseDecimal(text)).toBeNull());

  it('reads back every finite number as JavaScript writes it', () => {
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (value) => {
        // String(-0) is '0'
        expect(parseDecimal(String(value))).toBe(value + 0);
      }),
    );
  });
});
