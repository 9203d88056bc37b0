import { existsSync } from 'node:fs';
import { defineConfig } from 'vitest/config';

/** Tests that read real recordings and published values from ../shared, beside the checkout. */
const needRecordings = [
  'tests/browser/pageFiles.test.ts',
  'tests/cli/recording.test.ts',
  'tests/formats/realRecordings.test.ts',
  'tests/published/oddballRecording.test.ts',
  'tests/published/publishedValues.test.ts',
  'tests/published/realNoise.test.ts',
  'tests/study/realBackground.test.ts',
];

// Left out, with a word, where the recordings are missing; continuous integration must have them and fails instead.
const leftOut = existsSync(new URL('../shared/data', import.meta.url)) || process.env.CI ? [] : needRecordings;
if (leftOut.length > 0) console.warn(`No recordings in ../shared/data: left out ${leftOut.join(', ')}\n`);

export default defineConfig({
  test: {
    reporters: ['default', './tests/reporter.ts'],
    maxWorkers: 2,
    projects: [
      {
        test: {
          name: 'node',
          include: ['tests/**/*.test.ts'],
          exclude: ['tests/browser/**', ...leftOut],
          environment: 'node',
          testTimeout: 60_000,
          hookTimeout: 60_000,
        },
      },
      {
        test: {
          name: 'browser',
          include: ['tests/browser/**/*.test.ts'],
          exclude: leftOut,
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
