import { describe, expect, it } from 'vitest';
import { meanOf } from '../../src/core/quality/replicates.ts';
import { jackknife, SLOW } from './marking.ts';
import { textbookRun } from './outcomeClaims.ts';

const { mark, lane, honesty } = textbookRun('same-number-twice');

/** Mean split-buffer correlation of a run. */
function agreement(run: string) {
  const { splitCorrelation } = lane(run, 'plain-mean');
  return jackknife(splitCorrelation.length, (kept) => meanOf(splitCorrelation, kept));
}

describe('The same number, twice', () => {
  it('a textbook learner does well', SLOW, () => {
    expect(mark().points).toBeGreaterThanOrEqual(85);
  });

  it('without hum the claim is the error, within 3 standard errors', () => {
    const { value, error } = honesty('clean', 'plain-mean');
    expect(error).toBeLessThan(0.15);
    expect(Math.abs(value - 1)).toBeLessThan(3 * error);
  });

  it('with locked hum the claim is less than a tenth of the error, by 3 standard errors', () => {
    const { value, error } = honesty('humming', 'plain-mean');
    expect(value + 3 * error).toBeLessThan(0.1);
  });

  it('halves agree where hum is locked, with or without sound, and not in silence', () => {
    for (const run of ['humming', 'humming-silent']) {
      const { value, error } = agreement(run);
      expect(value - 3 * error, run).toBeGreaterThan(0.9);
    }
    const silent = agreement('silent');
    expect(Math.abs(silent.value)).toBeLessThan(3 * silent.error);
  });
});
