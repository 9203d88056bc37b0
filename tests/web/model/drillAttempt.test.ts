import { describe, expect, it } from 'vitest';
import { DrillAttempt } from '../../../src/web/model/drillAttempt.ts';
import { drill } from '../../lessons/drills/drillFiles.ts';
import { finishedBench } from './finishedBench.ts';

function begun() {
  const bench = finishedBench({ session: { durationS: 1 } });
  let nowMs = 5_000_000;
  const attempt = new DrillAttempt(drill('student-helps'), bench, () => nowMs);
  return { bench, attempt, pass: (seconds: number) => (nowMs += 1000 * seconds) };
}

describe('a drill on the bench', () => {
  it('hides truth and settings, and puts the patient there again with every remedy', () => {
    const { bench, attempt } = begun();
    expect([bench.truthSealed, bench.sealHeld, bench.lockedHidden, bench.isFree('leads.swapped')]).toEqual([
      true,
      true,
      true,
      false,
    ]);
    expect(bench.scenario.leads.swapped).toBe('common-ipsilateral');
    attempt.name('exchanged-leads');
    attempt.take('plug-the-leads-right');
    expect(bench.scenario.leads.swapped).toBe('none');
    attempt.undo();
    expect(bench.scenario.leads.swapped).toBe('common-ipsilateral');
    attempt.finish();
    attempt.reveal();
    expect([bench.truthSealed, bench.lockedHidden, bench.isFree('leads.swapped')]).toEqual([false, false, false]);
    attempt.leave();
    expect(bench.isFree('leads.swapped')).toBe(true);
  });

  it('takes the trouble along when it is left before the mark', () => {
    const { bench, attempt } = begun();
    expect(bench.keepsSecrets).toBe(true);
    attempt.leave();
    expect(bench.keepsSecrets).toBe(false);
    expect(bench.scenario.leads.swapped).toBe('none');
  });

  it('counts the time of both, tells what is not allowed, and ends after five minutes', () => {
    const { attempt, pass } = begun();
    expect(attempt.take('check-the-tube')).toMatch(/needs a source/);
    pass(100);
    expect(attempt.name('no-sound')).toBeNull();
    expect(attempt.take('check-the-tube')).toBeNull();
    expect(attempt.secondsLeft).toBe(185);
    pass(-60); // a clock that was set back
    expect(attempt.take('re-prep-an-electrode')).toBeNull();
    expect(attempt.events.map(({ atS }) => atS)).toEqual([100, 100, 100]);
    pass(60 + 150);
    expect(attempt.secondsLeft).toBe(0);
    expect(attempt.take('plug-the-leads-right')).toMatch(/must come within 300 s/);
    expect(attempt.finish()).toBeNull();
    expect(attempt.state.finished).toBe(true);
  });
});
