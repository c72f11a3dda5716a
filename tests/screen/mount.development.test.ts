import { expect, it, vi } from 'vitest';

vi.hoisted(() => {
  process.env['NODE_ENV'] = 'development';
  process.env['CI'] = 'false';
});

import { soak } from './soak.js';

// Negative control: what mount.test.ts looks for is there when react's development build draws.
it('mount() keeps performance entries when NODE_ENV is not production', async () => {
  const { entries, drawn } = await soak(100);
  expect(drawn).toBe(true);
  expect(entries).toBeGreaterThan(100);
});
