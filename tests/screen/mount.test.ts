import { expect, it, vi } from 'vitest';

// As runScreen() does; react chooses its build when it is imported.
vi.hoisted(() => {
  process.env['NODE_ENV'] = 'production';
  process.env['CI'] = 'false';
});

import { soak } from './soak.js';

/** Less than a hundred bytes an update; a picture has a few thousand. */
const GROWTH_MAX = 1_000_000;

it('mount() keeps neither memory nor performance entries over 12,000 updates', async () => {
  const { entries, drawn, grownBytes } = await soak(12_000);
  expect({ entries, drawn }).toEqual({ entries: 0, drawn: true });
  expect(grownBytes).toBeLessThan(GROWTH_MAX);
}, 120_000);

it('a picture kept at each update is found out (negative control)', async () => {
  const kept: unknown[] = [];
  expect((await soak(3000, (shown) => kept.push(shown))).grownBytes).toBeGreaterThan(GROWTH_MAX);
}, 60_000);
