import { describe, expect, it } from 'vitest';
import { roughly } from '../../src/exposure/roughly.js';

describe('roughly()', () => {
  // All by what its comment says: plain arithmetic.
  it.each([
    [0, 'less than a minute'],
    [0.4, 'less than a minute'],
    [0.6, 'about 1 min'],
    [6.3, 'about 6 min'],
    [19.9, 'about 20 min'],
    [20, 'about 20 min'],
    [23, 'about 25 min'],
    [119, 'about 120 min'],
    [120, 'about 2 h'],
    [400, 'about 7 h'],
  ])('tells %d minutes as %s', (minutes, told) => expect(roughly(minutes)).toBe(told));

  it.each([
    [0.9, 'less than a minute'],
    [1.9, 'about 1 min'],
    [14.9, 'about 14 min'],
    [24.9, 'about 20 min'],
    [179, 'about 2 h'],
  ])('tells no more than is left of %d minutes', (minutes, told) =>
    expect(roughly(minutes, Math.floor)).toBe(told),
  );
});
