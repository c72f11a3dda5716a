import { expect, it, vi } from 'vitest';

// As runScreen() does; react chooses its build when it is imported.
vi.hoisted(() => {
  process.env['NODE_ENV'] = 'production';
  process.env['CI'] = 'false';
});

import { soak } from './soak.js';

it('mount() keeps no performance entries over 2,000 updates', async () => {
  expect(await soak(2000)).toEqual({ entries: 0, drawn: true });
});
