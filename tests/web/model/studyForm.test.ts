import { describe, expect, it } from 'vitest';
import { preset } from '../../../src/core/scenario/presets.ts';
import { resolveScenario, withOverrides } from '../../../src/core/scenario/resolve.ts';
import { planStudy } from '../../../src/study/plan.ts';
import { firstForm, ON_BENCH, type StudyForm, studyOfForm } from '../../../src/web/model/studyForm.ts';

const bench = resolveScenario(preset('quiet-sleeper'));
const made = (change: Partial<StudyForm>, patient = bench) => studyOfForm({ ...firstForm(), ...change }, patient);

describe('the form of a study', () => {
  it('makes lists into settings, values into conditions, sealed patients into the test', () => {
    const plan = planStudy(
      made({
        patients: [
          { scenario: ON_BENCH, sealed: false },
          { scenario: 'jaw-clencher', sealed: true },
        ],
        varyKey: 'muscle.durationS',
        varyValues: '0.2; 0.8  3.2',
      }),
    );
    expect(plan.settings.map(({ id }) => id)).toEqual([
      'plain-mean',
      'threshold-rejection thresholdUv=8',
      'threshold-rejection thresholdUv=15',
      'threshold-rejection thresholdUv=30',
      'block-weighting blockLength=8',
      'block-weighting blockLength=32',
      'block-weighting blockLength=128',
    ]);
    expect(plan.conditions.map(({ id, part }) => `${part} ${id}`)).toEqual([
      'train quiet-sleeper-on-the-bench muscle.durationS=0.2',
      'train quiet-sleeper-on-the-bench muscle.durationS=0.8',
      'train quiet-sleeper-on-the-bench muscle.durationS=3.2',
      'test jaw-clencher-sealed',
    ]);
  });

  it('takes the patient on the bench as it is now, with every change', () => {
    const changed = resolveScenario(withOverrides(preset('quiet-sleeper'), ['eeg.slowUv=11', 'stimulus.ratePerS=31']));
    const [{ scenario }] = made({ durationS: '' }, changed).scenarios;
    expect(resolveScenario(scenario as object)).toEqual(changed);
    expect(made({ durationS: '' }).scenarios).toEqual([
      { id: 'quiet-sleeper-on-the-bench', scenario: 'quiet-sleeper' },
    ]);
  });

  it('asks for a precision in the first measure', () => {
    expect(
      made({ toPrecision: true, replicates: '6', mostReplicates: '60', halfWidthPercent: '7.5' }).replicates,
    ).toEqual({
      from: 6,
      to: 60,
      until: { measure: 'residual-noise', halfWidthPercent: 7.5 },
    });
  });

  const refused: [Partial<StudyForm>, string][] = [
    [{ question: '  ' }, 'Question: must be a sentence, got nothing'],
    [{ replicates: '2.5' }, 'Patients: must be a whole number from 1, got "2.5"'],
    [{ replicates: '' }, 'Patients: must be a whole number from 1, got ""'],
    [{ durationS: 'long' }, 'Session: must be a number, got "long"'],
    [{ varyKey: 'muscle' }, 'Vary: must be a key of the scenario, got "muscle"'],
    [{ varyKey: 'muscle.durationS' }, 'Values of muscle.durationS: must be a list, got nothing'],
    [{ patients: [{ scenario: 'jaw-clencher', sealed: true }] }, 'Patients: at least one must not be sealed, got none'],
    [{ strategies: [] }, 'Strategies: must be at least one, got none'],
    [{ measures: [] }, 'Measures: must be at least one, got none'],
    [
      { strategies: [{ strategy: 'kalman', flagAware: false, values: { noiseMemory: '0, much' } }] },
      'Kalman-style, noiseMemory: must be a number, got "much"',
    ],
  ];
  it.each(refused)('refuses %o', (change, message) => {
    expect(() => made(change)).toThrow(message);
  });
});
