import { expect, test } from 'vitest';
import { faultChanges } from '../../src/emulator/faults.js';

test('`faultChanges()` puts beginnings and ends in order of time, an end before a beginning', () => {
  const first = { kind: 'short', fromMs: 10, toMs: 20 } as const;
  const second = { kind: 'short', fromMs: 20, toMs: 30 } as const;
  expect(faultChanges([second, first]).map(({ atMs, fault, begins }) => [atMs, fault, begins])).toEqual([
    [10, first, true],
    [20, first, false],
    [20, second, true],
    [30, second, false],
  ]);
});
