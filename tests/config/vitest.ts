import { defineConfig } from 'vitest/config';

/** The one test configuration: tests mirror the source tree, the image and the program are built once before all. */
export default defineConfig({
  test: {
    root: new URL('../..', import.meta.url).pathname,
    include: ['tests/**/*.test.ts', 'tests/**/*.test.tsx'],
    globalSetup: ['tests/config/before-all.ts'],
    testTimeout: 60_000,
    hookTimeout: 120_000,
    pool: 'forks',
  },
});
