import { expect, it } from 'vitest';
import { soak } from './soak.js';

/** Less than a hundred bytes an update; a picture has a few thousand. */
const GROWTH_MAX = 1_000_000;

it('a sheet keeps no memory over 12,000 updates', async () => {
  const { drawn, grownBytes } = await soak(12_000);
  expect(drawn).toBe(true);
  expect(grownBytes).toBeLessThan(GROWTH_MAX);
});

it('a picture kept at each update is found out (negative control)', async () => {
  const kept: unknown[] = [];
  expect((await soak(3000, (shown) => kept.push(shown))).grownBytes).toBeGreaterThan(GROWTH_MAX);
});
