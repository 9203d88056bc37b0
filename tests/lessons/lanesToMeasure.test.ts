import { describe, expect, it } from 'vitest';
import { measureRun } from '../../src/lessons/hiddenRuns.ts';
import { lanesToMeasure } from '../../src/lessons/lanesToMeasure.ts';
import { startSettings } from '../../src/lessons/lessonRun.ts';
import { lesson } from './lessonFolders.ts';
import { measureNow } from './marking.ts';
import { quickLesson } from './quickLesson.ts';

const sorted = (ids: Iterable<string> | undefined) => [...(ids ?? [])].sort();

describe('lanesToMeasure', () => {
  it('takes what figures name, every option of a setting, all varied values, and all of the reported run', () => {
    const lanes = lanesToMeasure(lesson('rails-and-tails'));
    expect(sorted(lanes.get('as-found'))).toEqual(['block-weighting', 'plain-mean', 'threshold-rejection']);
    expect(sorted(lanes.get('loose'))).toEqual(['block-weighting', 'kalman', 'plain-mean', 'threshold-rejection']);
    expect(sorted(lanes.get('clencher-wide'))).toEqual(['plain-mean']);
    const varied = lanesToMeasure(lesson('moving-target')).get('moving-tried');
    expect(varied?.has('kalman@1e-7')).toBe(true);
  });

  it('leaves out runs that no figure names', () => {
    const quick = quickLesson();
    quick.runs.push({ ...quick.runs[0], id: 'for-the-bench' });
    expect(lanesToMeasure(quick).has('for-the-bench')).toBe(false);
  });

  it('changes nothing in a lane that other lanes are left out', () => {
    const quick = quickLesson();
    const attempt = { settings: startSettings(quick), answers: {}, attemptSeed: '1' };
    const [run] = quick.runs;
    const whole = measureRun(quick, run, attempt.settings, '1');
    let step = whole.next();
    while (!step.done) step = whole.next();
    const alone = measureNow(quick, run.id, attempt, ['block-weighting']);
    expect(alone.lanes).toEqual(step.value.lanes.filter(({ id }) => id === 'block-weighting'));
  });
});
