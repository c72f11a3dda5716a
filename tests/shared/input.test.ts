import { describe, expect, it } from 'vitest';
import {
  COUNT_MAX,
  CountError,
  type CupCount,
  type EfficacyOptions,
  efficacyReport,
} from '../../shared/index.js';
import { strip } from './reference.js';

function errorOf(cups: readonly CupCount[], options: EfficacyOptions = {}): unknown {
  try {
    efficacyReport(cups, options);
  } catch (error) {
    return error;
  }
  return null;
}

describe('efficacyReport() on impossible input', () => {
  it.each([
    ['tray', { tray: -1 }],
    ['wash', { wash: 3.2 }],
    ['bees', { bees: Number.NaN }],
    ['wash', { wash: Number.POSITIVE_INFINITY }],
    ['tray', { tray: COUNT_MAX + 1 }],
    ['bees', { tray: 4, wash: 5, bees: 8 }],
    ['bees', { tray: 4, wash: null, bees: 3 }],
  ] as const)('names the cup and the field %s for %j', (field, wrong) => {
    const error = errorOf([strip(1, 1), strip(1, 1, { yard: 'Y7', cup: 'C9', ...wrong })]);
    expect(error).toBeInstanceOf(CountError);
    expect(error).toMatchObject({ yard: 'Y7', cup: 'C9', field });
    expect((error as CountError).message).toContain('cup C9 of yard Y7');
  });

  it('accepts the largest count, bees equal to mites, and missing counts', () => {
    expect(errorOf([strip(COUNT_MAX, null), strip(4, 5, { bees: 9 }), strip(null, null)])).toBeNull();
  });

  it('refuses a cup named twice in a yard but not in two yards', () => {
    const twice = [strip(1, 1, { cup: 'C' }), strip(2, 2, { cup: 'C' })];
    expect(errorOf(twice)).toMatchObject({ field: 'cup', cup: 'C' });
    expect(errorOf([strip(1, 1, { cup: 'C' }), strip(2, 2, { cup: 'C', yard: 'Z' })])).toBeNull();
  });

  it.each([
    { line: 0 },
    { line: 70 },
    { level: 1 },
    { level: Number.NaN },
    { minCups: 2.5 },
    { minMites: -1 },
    { recovery: { q: 0 } },
    { recovery: { q: 1.01 } },
    { recovery: { first: 0, second: 3 } },
    { recovery: { first: 5, second: 0.5 } },
  ])('refuses the options %j', (options) => {
    expect(errorOf([], options)).toBeInstanceOf(RangeError);
  });
});
