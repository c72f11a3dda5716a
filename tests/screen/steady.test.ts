import { expect, it } from 'vitest';
import { steady } from '../../src/screen/steady.js';
import { type UtcMs, utcMs } from '../../src/units/time.js';

it('steady() never goes back by less than a second, and follows a clock that is set back', () => {
  const given = [5000, 4990, 5000, 6000, 5000, 4999, 9000].map(utcMs);
  let next = 0;
  const now = steady((): UtcMs => given[next++]!);
  expect(given.map(now)).toEqual([5000, 5000, 5000, 6000, 6000, 4999, 9000]);
});
