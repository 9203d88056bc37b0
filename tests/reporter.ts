import { writeSync } from 'node:fs';
import type { Reporter, SerializedError, TestModule } from 'vitest/node';

/**
 * Ends the whole run with one line, `N passed, N failed`.
 *
 * It is written while the process exits, after every other reporter and every late warning. A test file that could not
 * be read and an error outside every test count as failures too, and a run without a single test fails.
 */
export default class ClosingLine implements Reporter {
  onInit(): void {
    process.once('exit', () => {
      // A run that was cut short never reached its counts: no line is better than a wrong one.
      if (this.#counts === undefined) return;
      const { passedCount, failedCount } = this.#counts;
      if (failedCount > 0 || passedCount === 0) process.exitCode ||= 1;
      writeSync(1, `${passedCount} passed, ${failedCount} failed\n`);
    });
  }

  onTestRunEnd(modules: readonly TestModule[], unhandledErrors: readonly SerializedError[]): void {
    let passedCount = 0;
    let failedCount = unhandledErrors.length;
    for (const module of modules) {
      failedCount += module.errors().length;
      for (const test of module.children.allTests()) {
        const { state } = test.result();
        if (state === 'passed') passedCount += 1;
        if (state === 'failed') failedCount += 1;
      }
      for (const suite of module.children.allSuites()) failedCount += suite.errors().length;
    }
    this.#counts = { passedCount, failedCount };
  }

  #counts: { passedCount: number; failedCount: number } | undefined;
}
