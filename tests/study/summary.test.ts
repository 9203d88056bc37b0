import { describe, expect, it } from 'vitest';
import { nextGaussian, stream } from '../../src/core/random/stream.ts';
import { type Block, blocksOf } from '../../src/study/block.ts';
import { breakdownCurves, parameterCurves } from '../../src/study/curves.ts';
import { gatherRows } from '../../src/study/gathered.ts';
import { studyMeasures } from '../../src/study/measures.ts';
import { drawPatient } from '../../src/study/patientDraw.ts';
import { conditionNumbers, type StudyPlan } from '../../src/study/plan.ts';
import { sensitivities } from '../../src/study/sensitivity.ts';
import { summarise } from '../../src/study/summary.ts';
import { smallPlan } from './small.ts';

interface Made {
  noise?: number;
  gain?: number;
  seconds?: number;
  catastrophe?: number;
}

/** Fills a study with made-up figures; what is common to a patient is added to all settings. */
function filled(
  plan: StudyPlan,
  of: (setting: number, condition: number, replicate: number, drawn: Record<string, unknown>) => Made,
) {
  const gathered = gatherRows(plan);
  const blocks = plan.conditions.flatMap((_, c) =>
    blocksOf(
      plan,
      c,
      0,
      plan.replicates.to,
      plan.settings.map((_, k) => k),
    ),
  );
  for (const block of blocks) gathered.add(block, rowsOf(plan, block, of));
  return gathered;
}

function rowsOf(plan: StudyPlan, block: Block, of: Parameters<typeof filled>[1]) {
  const patients = Array.from({ length: block.replicateCount }, (_, k) => {
    const replicate = block.firstReplicate + k;
    const drawn = drawPatient(plan.conditions[block.condition].draw, 's', replicate);
    const figures = block.settings.map((setting) => {
      const { noise = 50, gain = 1, seconds = 3, catastrophe = 0 } = of(setting, block.condition, replicate, drawn);
      const known: Record<string, number> = { 'residual-noise': noise, gain, 'seconds-to-target': seconds };
      return [catastrophe, ...studyMeasures.map(({ id }) => known[id] ?? 1)];
    });
    return { replicate, scenarioHash: '', targetNv: 40, durationS: 4, sweepsOffered: 100, drawn, figures };
  });
  return { block: block.id, study: plan.hash, version: 'test', patients };
}

const gaussian = (...name: number[]) => nextGaussian(stream(name.join('/'), 'test/summary'));

describe('summarise', () => {
  it('finds a small difference between settings on very different patients, because they are paired', () => {
    const plan = smallPlan({ replicates: '24' });
    const gathered = filled(plan, (setting, _, replicate) => ({
      // Patients differ by a factor of e; setting 1 has 3 % less noise, setting 2 the same as the reference.
      noise:
        50 * Math.exp(gaussian(replicate)) * (setting === 1 ? 0.97 : 1) * (1 + 0.01 * gaussian(replicate, setting)),
    }));
    const own = summarise(plan, gathered).comparisons.filter(({ measure }) => measure.id === 'residual-noise');
    expect(own.map(({ setting }) => setting)).toEqual([1, 2]);
    expect(own[0].effect.high).toBeLessThan(1);
    expect(Math.abs(own[0].effect.value - 0.97)).toBeLessThan((4 * 0.0141) / Math.sqrt(24));
    expect(own[0].adjustedP).toBeLessThan(0.001);
    expect(own[1].adjustedP).toBeGreaterThan(0.05);
    expect(own[0].count).toBe(24);
  });

  it('ranks what changes the response behind what does not, unless told otherwise', () => {
    const made = (setting: number, _: number, replicate: number) => ({
      noise: [60, 40, 50][setting],
      gain: (setting === 1 ? 0.8 : 1) + 0.01 * gaussian(setting, replicate),
    });
    const plan = smallPlan({ replicates: '12' });
    expect(summarise(plan, filled(plan, made)).ranking.map(({ setting }) => setting)).toEqual([2, 0, 1]);
    const lax = smallPlan({ replicates: '12', choose: '{ measure: residual-noise, keepsResponse: false }' });
    expect(summarise(lax, filled(lax, made)).ranking.map(({ setting }) => setting)).toEqual([1, 2, 0]);
  });

  it('warns when a tuned setting does not carry over, and only then', () => {
    const more = { replicates: '16', test: '[{ id: sealed }]' };
    const plan = smallPlan(more);
    const advantage = (onTest: number) => (setting: number, condition: number, replicate: number) => ({
      noise:
        (setting === 1 ? (condition === 0 ? 40 : 50 * onTest) : 50) *
        (1 + 0.02 * gaussian(setting, condition, replicate)),
    });
    const good = summarise(plan, filled(plan, advantage(0.8))).carryOver;
    expect([good?.chosen, good?.warning]).toEqual([1, null]);
    expect(summarise(plan, filled(plan, advantage(1))).carryOver?.warning).toContain('does not carry over');
    expect(summarise(plan, filled(plan, advantage(1.2))).carryOver?.warning).toContain('worse than the reference');
    const none = summarise(
      plan,
      filled(plan, (setting) => ({ noise: setting === 0 ? 40 : 50 })),
    ).carryOver;
    expect(none?.warning).toContain('nothing was tuned');
  });

  it('counts catastrophes with exact intervals', () => {
    const plan = smallPlan({ replicates: '20' });
    const { cells } = summarise(
      plan,
      filled(plan, (setting, _, replicate) => ({ catastrophe: setting === 1 && replicate < 3 ? 1 : 0 })),
    );
    expect(cells[0].catastrophe).toMatchObject({ value: 0, low: 0 });
    expect(cells[1].catastropheCount).toBe(3);
    // Clopper and Pearson for 3 of 20, common table value.
    expect(cells[1].catastrophe.low).toBeCloseTo(0.0321, 4);
    expect(cells[1].catastrophe.high).toBeCloseTo(0.3789, 4);
  });

  it('puts settings on the front as often as resampled patients do', () => {
    const plan = smallPlan({ replicates: '24' });
    const { tradeOffs } = summarise(
      plan,
      filled(plan, (setting, _, replicate) => ({
        // 0: slow and true; 1: fast and biased; 2: as slow as 0, and biased.
        seconds: [3, 2, 3][setting] + 0.2 * gaussian(replicate) + 0.02 * gaussian(setting, replicate),
        gain: [1, 0.9, 0.9][setting] + 0.01 * gaussian(setting, replicate, 1),
      })),
    );
    const by = (setting: number) => tradeOffs.find((point) => point.setting === setting);
    expect([by(0)?.onFront, by(1)?.onFront, by(2)?.onFront]).toEqual([true, true, false]);
    expect(by(0)?.frontShare).toBeGreaterThan(0.99);
    expect(by(2)?.frontShare).toBeLessThan(0.5);
    expect(by(0)?.ellipse.major).toBeGreaterThan(0);
  });
});

describe('curves', () => {
  it('show a measure against a parameter, and where a setting breaks down', () => {
    const plan = smallPlan({
      strategies: '[{ strategy: plain-mean }, { strategy: block-weighting, parameters: { blockLength: [4, 8, 16] } }]',
      vary: '{ muscle.burstsPerS: [0, 1, 2] }',
    });
    const gathered = filled(plan, (setting, condition) => ({
      noise: setting === 0 ? 10 * (1 + condition) : 10 + setting,
      gain: setting === 3 ? 1 - 0.08 * condition : 1,
    }));
    const [byLength] = parameterCurves(plan, gathered, plan.measures[0]);
    expect(byLength.axis).toBe('blockLength');
    expect(byLength.curves.map(({ points }) => points.map(({ x, y }) => [x, y.value]))[0]).toEqual([
      [4, 11],
      [8, 12],
      [16, 13],
    ]);
    const [breakdown] = breakdownCurves(plan, gathered, plan.measures[0], [0, 1, 3]);
    expect(breakdown.axis).toBe('muscle.burstsPerS');
    expect(breakdown.curves.map(({ noiseDoublesAt, gainIsOffAt }) => [noiseDoublesAt, gainIsOffAt])).toEqual([
      [1, null],
      [null, null],
      [null, expect.closeTo(1.25, 10)],
    ]);
  });
});

describe('sensitivities', () => {
  it('put what matters first, with an interval that holds the truth', () => {
    const draw = '{ muscle.burstUv: { uniform: [10, 40] }, eeg.slowUv: { uniform: [4, 8] } }';
    const plan = smallPlan({ scenarios: `[{ id: a, draw: ${draw} }]`, replicates: '96' });
    const gathered = filled(plan, (_, __, replicate, drawn) => ({
      noise: Math.exp(0.02 * (drawn['muscle.burstUv'] as number) + 0.05 * gaussian(replicate)),
    }));
    const bars = sensitivities(plan, gathered, plan.measures[0], 0);
    expect(bars.map(({ path }) => path)).toEqual(['muscle.burstUv', 'eeg.slowUv']);
    // From the mean of the lower third of the range (15) to that of the upper third (35): e^(0.02 · 20).
    expect(bars[0].effect.low).toBeLessThan(Math.exp(0.4));
    expect(bars[0].effect.high).toBeGreaterThan(Math.exp(0.4));
    expect(bars[1].effect.low).toBeLessThan(1);
    expect(bars[1].effect.high).toBeGreaterThan(1);
    expect(conditionNumbers(plan, 'train')).toEqual([0]);
  });
});
