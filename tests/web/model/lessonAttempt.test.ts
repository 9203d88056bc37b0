import { describe, expect, it } from 'vitest';
import { caseOf, runOf } from '../../../src/lessons/lessonRun.ts';
import { markAttempt } from '../../../src/lessons/mark.ts';
import { verifyAttempt } from '../../../src/lessons/verifyAttempt.ts';
import { Bench } from '../../../src/web/model/bench.ts';
import type { BenchEngine } from '../../../src/web/model/benchEngine.ts';
import { LessonAttempt } from '../../../src/web/model/lessonAttempt.ts';
import { lesson } from '../../lessons/lessonFolders.ts';

const SLOW = { timeout: 240_000 };
const theLesson = lesson('crackle-echo-or-ear');
const letters = ['a', 'b', 'c', 'd', 'e'];
const patient = (letter: string) => runOf(theLesson, `patient-${letter}`);

/** A bench whose engine runs nothing, and an attempt that is kept nowhere, with predictions locked. */
function begun() {
  const engine: BenchEngine = { send: () => {}, listen: () => {}, close: () => {} };
  const bench = new Bench(engine, {}, '1');
  const attempt = new LessonAttempt(theLesson, { load: async () => undefined, save: async () => {} });
  expect(attempt.lockPredictions()).toBeNull();
  return { bench, attempt };
}

describe('LessonAttempt', () => {
  it('lets the strategies race that the run compares', () => {
    const { bench, attempt } = begun();
    const run = runOf(theLesson, 'loud-crackle');
    attempt.putOnBench(run, bench);
    expect(bench.laneSettings.map(({ strategy }) => strategy)).toEqual(run.strategies);
    attempt.putOnBench(patient('a'), bench);
    expect(bench.laneSettings.map(({ strategy }) => strategy)).toEqual(['plain-mean']);
  });
});

describe('LessonAttempt with unlabelled patients', () => {
  it('puts the case of this attempt on the bench, and hides what is locked until the seal is broken', () => {
    const { bench, attempt } = begun();
    for (const letter of letters) {
      attempt.putOnBench(patient(letter), bench);
      const { change = {} } = caseOf(theLesson, patient(letter), attempt.handedIn.attemptSeed) ?? {};
      for (const [path, value] of Object.entries(change)) expect(bench.valueAt(path), path).toEqual(value);
      expect(bench.isFree('artefact.peakUv')).toBe(false);
      expect(bench.lockedHidden).toBe(true);
    }
    expect(attempt.unseal(bench)).toBeNull();
    expect(bench.lockedHidden).toBe(false);
  });

  it('a test changes several keys, and taking it back leaves the patient as he was', () => {
    const { bench, attempt } = begun();
    attempt.putOnBench(patient('a'), bench);
    const before = structuredClone(bench.scenario);
    expect(attempt.set('test', 'pinched', bench)).toBeNull();
    const { stimulus, response, reflex } = bench.scenario;
    expect([stimulus.polarity, response.kind, reflex.peakUv]).toEqual(['rarefaction', 'none', 0]);
    expect(bench.isFree('response.kind')).toBe(false);
    expect(attempt.set('test', 'as-is', bench)).toBeNull();
    expect(bench.scenario).toEqual(before);
  });

  it('counts looks, holds to a diagnosis, and its file is verified to the same mark', SLOW, () => {
    const { bench, attempt } = begun();
    for (const letter of letters) {
      attempt.putOnBench(patient(letter), bench);
      expect(attempt.set(`says-${letter}`, 'crackle', bench)).toBeNull();
    }
    attempt.set('test', 'rarefaction', bench);
    expect(attempt.handedIn.lookCount).toBe(6);
    attempt.unseal(bench);
    expect(attempt.set('says-a', 'echo', bench)).toContain('must come before the seal is broken');
    expect(attempt.handIn()).toBeNull();
    const marking = markAttempt(theLesson, attempt.handedIn);
    let step = marking.next();
    while (!step.done) step = marking.next();
    attempt.finish(step.value);
    const right = step.value.parts.flatMap(({ marks }) => marks).filter(({ id }) => id.startsWith('right-'));
    const hasCrackle = letters.filter(
      (letter) => caseOf(theLesson, patient(letter), attempt.handedIn.attemptSeed)?.id === 'crackle',
    );
    expect(right.filter(({ points }) => points > 0).map(({ id }) => id)).toEqual(hasCrackle.map((l) => `right-${l}`));
    expect(verifyAttempt(theLesson, attempt.toFile('test'), 'test').problems).toEqual([]);
  });
});
