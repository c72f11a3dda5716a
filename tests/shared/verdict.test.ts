import { describe, expect, it } from 'vitest';
import { percent, sideOf, verdictInWords } from '../../shared/index.js';
import { decide } from '../../shared/verdict.js';

const BAR = { line: 0.7, minCups: 5, minMites: 20 };

describe('decide()', () => {
  it.each([
    [0.7, 0.9, 'above-line'],
    [0.699, 0.9, 'undecided'],
    [0.2, 0.7, 'undecided'],
    [0.2, 0.699, 'below-line'],
  ] as const)('takes %d to %d as %s', (lower, upper, verdict) => {
    expect(decide({ interval: [lower, upper], cupsWithMites: 5, mites: 20 }, BAR)).toBe(verdict);
    expect(sideOf([lower, upper], 0.7)).toBe(verdict);
  });

  it('is too few one below each limit and without an interval', () => {
    const interval = [0.1, 0.2] as const;
    expect(decide({ interval, cupsWithMites: 4, mites: 20 }, BAR)).toBe('too-few');
    expect(decide({ interval, cupsWithMites: 5, mites: 19 }, BAR)).toBe('too-few');
    expect(decide({ interval: null, cupsWithMites: 50, mites: 500 }, BAR)).toBe('too-few');
  });
});

describe('verdictInWords()', () => {
  it('names the object of every verdict', () => {
    expect(verdictInWords('below-line', 0.7)).toBe('below the 70 % line');
    expect(verdictInWords('above-line', 0.675)).toBe('above the 67.5 % line');
    expect(verdictInWords('undecided', 0.7)).toBe('undecided about the 70 % line');
    expect(verdictInWords('too-few', 0.7)).toContain('the 70 % line');
  });
});

describe('percent()', () => {
  it('drops a decimal that is 0', () => {
    expect([percent(0.7), percent(0.123), percent(1)]).toEqual(['70 %', '12.3 %', '100 %']);
  });
});
