import { availableParallelism } from 'node:os';
import { defineConfig } from 'vitest/config';

/** The one test configuration: tests mirror the source tree, the image and the program are built once before all. */
export default defineConfig({
  test: {
    root: new URL('../..', import.meta.url).pathname,
    include: ['tests/**/*.test.ts'],
    globalSetup: ['tests/config/before-all.ts'],
    setupFiles: ['tests/config/each-file.ts'],
    testTimeout: 60_000,
    hookTimeout: 120_000,
    pool: 'forks',
    // Many tests wait for boards and processes in real time, and leave a second core idle.
    maxWorkers: Math.max(2, Math.ceil(availableParallelism() / 2)),
  },
});
