import { describe, expect, it } from 'vitest';
import { levelOfLook } from '../../../shared/index.js';
import {
  bestOfHundred,
  day,
  number,
  percentIn,
  rangeOfHundred,
  testsOf,
} from '../../../src/report/words/figures.js';
import { OPENED } from '../../visit/situation.js';

const english = { locale: 'en-GB' };
const german = { locale: 'de-DE' };

describe('rangeOfHundred()', () => {
  it('rounds outwards, so that no range is told narrower than it is', () => {
    expect(rangeOfHundred(english, [0.568, 0.672], 0.7)).toEqual(['56', '68']);
    expect(rangeOfHundred(english, [0.57, 0.58], 0.7)).toEqual(['57', '58']);
  });

  it('never tells a limit as if it were on the other side of the line', () => {
    expect(rangeOfHundred(english, [0.4, 0.696], 0.7)).toEqual(['40', '69.6']);
    expect(rangeOfHundred(german, [0.4, 0.6996], 0.7)).toEqual(['40', '69,96']);
    expect(rangeOfHundred(english, [0.7, 0.9], 0.7)).toEqual(['70', '90']);
    expect(bestOfHundred(english, 0.699, 0.7)).toBe('69.9');
  });
});

describe('number(), percentIn(), day()', () => {
  it('write in the way of the language', () => {
    expect([number(english, 4.25, 1), number(german, 1234.5, 1), percentIn(german, 0.725)]).toEqual([
      '4.3',
      '1234,5',
      '72,5 %',
    ]);
    // The evening of 12 May in the west is 13 May in the east.
    expect(day(english, OPENED, 'Etc/GMT+5')).toBe('12 May 2026');
    expect(day(english, OPENED, 'Etc/GMT-14')).toBe('13 May 2026');
  });
});

describe('testsOf()', () => {
  it('tells a level as tests that are right, and promises nothing that does not hold', () => {
    // Whole numbers of tests, and 1 - 0.05 / 3 = 0.98333...: plain arithmetic.
    expect(testsOf(english, 0.95)).toEqual(['95', '100']);
    expect(testsOf(english, levelOfLook(0.95, 2))).toEqual(['975', '1000']);
    expect(testsOf(german, levelOfLook(0.95, 3))).toEqual(['9833', '10000']);
  });
});
