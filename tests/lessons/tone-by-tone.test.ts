import { describe, expect, it } from 'vitest';
import { jackknife, SLOW } from './marking.ts';
import { textbookRun } from './outcomeClaims.ts';

const { mark, lane, run } = textbookRun('tone-by-tone');

/** Share of patients in whom Fmp exceeds a limit at one of the looks after every 250 sweeps, or at the end alone. */
function foundShare(runId: string, limit: number, looks: 'all' | 'end') {
  const { sweeps } = run(runId);
  const last = sweeps.length - 1;
  const looked = sweeps.flatMap((count, j) =>
    j === last || (looks === 'all' && Math.floor(count / 250) > Math.floor((sweeps[j - 1] ?? 0) / 250)) ? [j] : [],
  );
  const found = lane(runId, 'block-weighting').fmpCurve.map((fmp): number =>
    looked.some((j) => fmp[j] > limit) ? 1 : 0,
  );
  return jackknife(found.length, (kept) => kept.reduce((sum, r) => sum + found[r], 0) / kept.length);
}

describe('Tone by tone, peek by peek', () => {
  it('a textbook learner does well', SLOW, () => {
    expect(mark().points).toBeGreaterThanOrEqual(80);
  });

  it('fifteen looks at a limit for one find more in silence than one look, by 3 standard errors', () => {
    const one = foundShare('quiet-minutes', 1.35, 'end');
    const fifteen = foundShare('quiet-minutes', 1.35, 'all');
    expect(one.value).toBeLessThan(0.16);
    expect(fifteen.value - one.value).toBeGreaterThan(3 * Math.hypot(one.error, fifteen.error));
  });

  it('at 1.8 all looks together raise false alarms in fewer than a fifth, by 3 standard errors', () => {
    const { value, error } = foundShare('quiet-minutes', 1.8, 'all');
    expect(value + 3 * error).toBeLessThan(0.2);
  });

  it('a limit of 3 misses what 1.8 finds 20 dB above threshold, by 3 standard errors', () => {
    const found = foundShare('heard', 1.8, 'all');
    const safe = foundShare('heard', 3, 'all');
    expect(found.value - safe.value).toBeGreaterThan(3 * Math.hypot(found.error, safe.error));
  });
});
