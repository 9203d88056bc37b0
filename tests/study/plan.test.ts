import { describe, expect, it } from 'vitest';
import { patientOf } from '../../src/study/conditions.ts';
import { smallPlan } from './small.ts';

describe('settings', () => {
  it('are every combination of a grid, named by what differs', () => {
    const strategies =
      '[{ strategy: kalman, parameters: { processNoiseUv2: [0, 0.1], noiseMemory: { from: 0, to: 0.8, points: 3 }, noiseFloorUv2: 0.5 } }]';
    expect(smallPlan({ strategies }).settings.map(({ id, parameters }) => [id, parameters.noiseFloorUv2])).toEqual([
      ['kalman processNoiseUv2=0 noiseMemory=0', 0.5],
      ['kalman processNoiseUv2=0 noiseMemory=0.4', 0.5],
      ['kalman processNoiseUv2=0 noiseMemory=0.8', 0.5],
      ['kalman processNoiseUv2=0.1 noiseMemory=0', 0.5],
      ['kalman processNoiseUv2=0.1 noiseMemory=0.4', 0.5],
      ['kalman processNoiseUv2=0.1 noiseMemory=0.8', 0.5],
    ]);
  });

  it('cut a logarithmic range evenly, and round whole numbers', () => {
    const strategies =
      '[{ strategy: block-weighting, parameters: { blockLength: { from: 4, to: 64, points: 5, scale: log } } }]';
    const lengths = smallPlan({ strategies }).settings.map(({ parameters }) => parameters.blockLength);
    expect(lengths).toEqual([4, 8, 16, 32, 64]);
  });

  it('spread as a Latin hypercube: one in each slice of every range', () => {
    const strategies =
      '[{ strategy: kalman, parameters: { noiseMemory: { from: 0, to: 0.8 }, processNoiseUv2: { from: 0.001, to: 1, scale: log } } }]';
    const { settings } = smallPlan({ strategies, search: '{ kind: latin-hypercube, points: 16 }' });
    const slices = settings.map(({ parameters }) => Math.floor((parameters.noiseMemory as number) / 0.05));
    const decades = settings.map(({ parameters }) =>
      Math.floor(((Math.log10(parameters.processNoiseUv2 as number) + 3) / 3) * 16),
    );
    const each = Array.from({ length: 16 }, (_, k) => k);
    expect([...slices].sort((a, b) => a - b)).toEqual(each);
    expect([...decades].sort((a, b) => a - b)).toEqual(each);
    expect(slices).not.toEqual(decades);
  });
});

describe('conditions', () => {
  it('are every scenario with every combination of what is varied; test scenarios stand as they are', () => {
    const plan = smallPlan({
      scenarios: '[{ id: a }, { id: b, scenario: locked-line }]',
      test: '[{ id: c }]',
      vary: '{ stimulus.jitterMs: [0, 2], mains.fundamentalUv: [1, 5] }',
    });
    expect(plan.conditions.map(({ id, part }) => `${part} ${id}`)).toEqual([
      'train a stimulus.jitterMs=0 mains.fundamentalUv=1',
      'train a stimulus.jitterMs=0 mains.fundamentalUv=5',
      'train a stimulus.jitterMs=2 mains.fundamentalUv=1',
      'train a stimulus.jitterMs=2 mains.fundamentalUv=5',
      'train b stimulus.jitterMs=0 mains.fundamentalUv=1',
      'train b stimulus.jitterMs=0 mains.fundamentalUv=5',
      'train b stimulus.jitterMs=2 mains.fundamentalUv=1',
      'train b stimulus.jitterMs=2 mains.fundamentalUv=5',
      'test c',
    ]);
    expect(patientOf(plan.conditions[3], '1', 0).scenario.mains.fundamentalUv).toBe(5);
  });

  it('draw patients that cover the range, within the bounds of each key, the same ones each time', () => {
    const draw =
      '{ muscle.burstUv: { logUniform: [10, 40] }, eeg.slowUv: { normal: [1, 3] }, eeg.state: { oneOf: [alert, relaxed] } }';
    const [condition] = smallPlan({ scenarios: `[{ id: a, draw: ${draw} }]` }).conditions;
    const patients = Array.from({ length: 16 }, (_, k) => patientOf(condition, 's', k).drawn);
    const bursts = patients.map((drawn) => drawn['muscle.burstUv'] as number);
    // Each group of 8 patients has one in each eighth of the logarithmic range.
    for (const group of [bursts.slice(0, 8), bursts.slice(8)]) {
      const eighths = group.map((value) => Math.floor((8 * Math.log(value / 10)) / Math.log(4)));
      expect(eighths.sort()).toEqual([0, 1, 2, 3, 4, 5, 6, 7]);
    }
    expect(bursts.slice(0, 8)).not.toEqual(bursts.slice(8));
    for (const drawn of patients) expect(drawn['eeg.slowUv']).toBeGreaterThanOrEqual(0);
    expect(patients.filter((drawn) => drawn['eeg.state'] === 'alert').length).toBe(8);
    expect(patientOf(condition, 's', 5).drawn).toEqual(patients[5]);
    expect(patientOf(condition, 't', 5).drawn).not.toEqual(patients[5]);
  });
});

describe('the hash of a study', () => {
  it('is that of its content, not of its spelling', () => {
    expect(smallPlan().hash).toBe(smallPlan({ measures: '[ residual-noise,  seconds-to-target, gain ]' }).hash);
    expect(smallPlan({ answer: 'That one.' }).hash).toBe(smallPlan().hash);
    expect(smallPlan().hash).not.toBe(smallPlan({ seed: "'2'" }).hash);
    expect(smallPlan().hash).toMatch(/^[0-9a-f]{12}$/);
  });
});
