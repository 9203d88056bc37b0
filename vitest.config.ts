import { defineConfig } from 'vitest/config';

export default defineConfig({
  test: {
    reporters: ['default', './tests/reporter.ts'],
    maxWorkers: 2,
    projects: [
      {
        test: {
          name: 'node',
          include: ['tests/**/*.test.ts'],
          exclude: ['tests/browser/**'],
          environment: 'node',
          testTimeout: 60_000,
          hookTimeout: 60_000,
        },
      },
      {
        test: {
          name: 'browser',
          include: ['tests/browser/**/*.test.ts'],
          environment: 'node',
          globalSetup: ['./tests/browser/site.ts'],
          testTimeout: 180_000,
          hookTimeout: 180_000,
          // One browser at a time: software rendering alone fills both cores.
          fileParallelism: false,
          sequence: { groupOrder: 1 },
        },
      },
    ],
  },
});
