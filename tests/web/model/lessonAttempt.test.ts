import { describe, expect, it } from 'vitest';
import { scenarioHash } from '../../../src/core/scenario/resolve.ts';
import { caseOf, runOf } from '../../../src/lessons/lessonRun.ts';
import { markAttempt } from '../../../src/lessons/mark.ts';
import { readLesson } from '../../../src/lessons/readLesson.ts';
import { verifyAttempt } from '../../../src/lessons/verifyAttempt.ts';
import { Bench } from '../../../src/web/model/bench.ts';
import type { BenchEngine } from '../../../src/web/model/benchEngine.ts';
import { LessonAttempt } from '../../../src/web/model/lessonAttempt.ts';
import { provenanceLine } from '../../../src/web/model/provenance.ts';
import { lesson, lessonDocument } from '../../lessons/lessonFolders.ts';

const SLOW = { timeout: 240_000 };
const theLesson = lesson('crackle-echo-or-ear');
const letters = ['a', 'b', 'c', 'd', 'e'];
const patient = (letter: string) => runOf(theLesson, `patient-${letter}`);

/** A bench whose engine runs nothing, and an attempt that is kept nowhere, with predictions locked. */
function begun(itsLesson = theLesson) {
  const engine: BenchEngine = { send: () => {}, listen: () => {}, close: () => {} };
  const bench = new Bench(engine, {}, '1');
  const attempt = new LessonAttempt(itsLesson, { load: async () => undefined, save: async () => {} });
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

describe('LessonAttempt with controls of its own', () => {
  it('frees one that is not marked, and keeps a key and a section out of sight to the end', () => {
    const { cases: _cases, ...document } = lessonDocument('quieter-by-the-root') as Record<string, unknown>;
    const controls = { free: ['filter.highPassHz'], hidden: ['eeg', 'mains.wanderHz'] };
    const itsLesson = readLesson({ ...document, controls }, 'l');
    const { bench, attempt } = begun(itsLesson);
    attempt.putOnBench(itsLesson.runs.filter((run) => run.bench)[0], bench);
    const paths = ['filter.highPassHz', 'filter.lowPassHz', 'eeg.slowUv', 'mains.wanderHz', 'mains.lineHz'];
    const states = () =>
      paths.map((path) => (bench.isHidden(path) ? 'hidden' : bench.isFree(path) ? 'free' : 'locked'));
    expect(states()).toEqual(['free', 'locked', 'hidden', 'hidden', 'locked']);
    expect(bench.keepsSecrets).toBe(true);
    attempt.unseal(bench);
    expect(states()).toEqual(['free', 'locked', 'hidden', 'hidden', 'locked']);
    attempt.leave(bench);
    expect([bench.keepsSecrets, bench.isFree('eeg.slowUv')]).toEqual([false, true]);
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

  it('no riddle leaves the page, as a link, a hash or a kept run, nor stays on the bench without its lock', () => {
    const { bench, attempt } = begun();
    attempt.putOnBench(patient('a'), bench);
    const hash = scenarioHash(bench.scenario);
    const { id } = bench.scenario;
    expect(bench.keepsSecrets).toBe(true);
    expect(provenanceLine(bench)).not.toContain(hash);
    bench.keep();
    attempt.putOnBench(runOf(theLesson, 'loud-crackle'), bench);
    expect([bench.kept, bench.keepsSecrets]).toEqual([null, false]);
    attempt.putOnBench(patient('b'), bench);
    attempt.leave(bench);
    expect([bench.keepsSecrets, bench.scenario.id === id]).toEqual([false, false]);
    attempt.putOnBench(patient('a'), bench);
    attempt.unseal(bench);
    expect(bench.keepsSecrets).toBe(false);
    expect(provenanceLine(bench)).toContain(hash);
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
