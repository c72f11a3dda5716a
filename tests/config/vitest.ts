import { availableParallelism } from 'node:os';
import { defineConfig } from 'vitest/config';
import { LongestFirst } from './longestFirst.js';

/** Files that change what a process has: its zone, its folder, its modules; or that emulate boards beside processes in real time. */
const ALONE = [
  'tests/end-to-end/**/*.test.ts',
  'tests/logger/**/*.test.ts',
  'tests/hardware/**/*.test.ts',
  'tests/cli/checkup.test.ts',
  'tests/cli/csv/readingsOnDisk.test.ts',
  'tests/store/sharedFolder.test.ts',
  // Sends signals to itself.
  'tests/screen/runScreen.test.ts',
  // These measure what their process holds.
  'tests/**/*.soak.test.ts',
];
const common = {
  root: new URL('../..', import.meta.url).pathname,
  setupFiles: ['tests/config/each-file.ts'],
  // Against hanging only: many times what tests take where nothing else runs.
  testTimeout: 300_000,
  hookTimeout: 600_000,
  pool: 'forks' as const,
  // Many tests wait for boards and processes in real time, and leave a core idle.
  maxWorkers: Math.max(3, Math.ceil(availableParallelism() / 2)),
};

/** The one test configuration: tests mirror the source tree, the image and the program are built once before all. */
export default defineConfig({
  test: {
    ...common,
    globalSetup: ['tests/config/before-all.ts'],
    sequence: { sequencer: LongestFirst },
    projects: [
      { test: { ...common, name: 'alone', include: ALONE } },
      // A process for many files, with modules that are loaded once: a third of a second a file.
      {
        test: {
          ...common,
          name: 'together',
          include: ['tests/**/*.test.ts'],
          exclude: ALONE,
          isolate: false,
        },
      },
    ],
  },
});
