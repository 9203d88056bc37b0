import { describe, expect, it } from 'vitest';
import { nextGaussian, stream } from '../../src/core/random/stream.ts';
import type { Block } from '../../src/study/block.ts';
import { gatherRows } from '../../src/study/gathered.ts';
import { studyMeasures } from '../../src/study/measures.ts';
import type { StudyPlan } from '../../src/study/plan.ts';
import { roundsOf } from '../../src/study/rounds.ts';
import { smallPlan } from './small.ts';

const noise = studyMeasures.findIndex(({ id }) => id === 'residual-noise');
const gain = studyMeasures.findIndex(({ id }) => id === 'gain');

/** Plays a study with made-up noise: `noiseOf` gives the figure of a setting, scattered by `scatter`. */
function played(plan: StudyPlan, noiseOf: (setting: number, condition: number) => number, scatter = 0.1) {
  const gathered = gatherRows(plan);
  const rounds = roundsOf(plan);
  const told: { name: string; replicates: number; settings: number[]; conditions: number[] }[] = [];
  let step = rounds.next(gathered);
  while (!step.done) {
    const { name, blocks } = step.value;
    for (const block of blocks) gathered.add(block, madeUp(plan, block, noiseOf, scatter));
    const replicates = blocks.reduce((sum, { replicateCount }) => sum + replicateCount, 0);
    const conditions = [...new Set(blocks.map(({ condition }) => condition))];
    told.push({ name, replicates, settings: blocks[0]?.settings ?? [], conditions });
    step = rounds.next(gathered);
  }
  return { told, ranking: step.value, gathered };
}

function madeUp(plan: StudyPlan, block: Block, noiseOf: (s: number, c: number) => number, scatter: number) {
  const patients = Array.from({ length: block.replicateCount }, (_, k) => {
    const replicate = block.firstReplicate + k;
    const figures = block.settings.map((setting) => {
      const draws = stream(`${replicate}/${block.condition}`, 'test/rounds', setting);
      const values = studyMeasures.map((_, m) =>
        m === gain ? 1 : m === noise ? noiseOf(setting, block.condition) * (1 + scatter * nextGaussian(draws)) : 1,
      );
      return [0, ...values];
    });
    return { replicate, scenarioHash: '', targetNv: 40, durationS: 4, sweepsOffered: 100, drawn: {}, figures };
  });
  return { block: block.id, study: plan.hash, version: 'test', patients };
}

const sixteen = {
  strategies:
    '[{ strategy: plain-mean }, { strategy: threshold-rejection, parameters: { thresholdUv: { from: 1, to: 15, points: 15 } } }]',
};

describe('rounds', () => {
  it('are one for a grid, conditions in turn', () => {
    const plan = smallPlan({ vary: '{ muscle.durationS: [0.1, 0.2] }' });
    const { told } = played(plan, () => 50);
    expect(told).toEqual([{ name: 'all settings', replicates: 12, settings: [0, 1, 2], conditions: [0, 1] }]);
  });

  it('halve: the better part goes on with more patients, the reference always', () => {
    const plan = smallPlan({ ...sixteen, search: '{ kind: successive-halving, keepOneIn: 4 }', replicates: '48' });
    const { told } = played(plan, (setting) => (setting === 0 ? 500 : 50 + 20 * Math.abs(setting - 8.7)));
    expect(told.map(({ replicates }) => replicates)).toEqual([3, 9, 36]);
    expect(told[0].settings.length).toBe(16);
    expect(told[1].settings).toEqual([0, 7, 8, 9, 10]);
    expect(told[2].settings.length).toBe(3);
    expect(told[2].settings).toContain(0);
    expect(told[2].settings).toContain(9);
  });

  it('go on until the interval is narrow, for the conditions that need it, and no further', () => {
    const plan = smallPlan({
      vary: '{ muscle.durationS: [0.1, 0.2] }',
      replicates: '{ from: 8, to: 200, until: { measure: residual-noise, halfWidthPercent: 5 } }',
    });
    const { told, gathered } = played(plan, () => 50, 0.02);
    expect(told.length).toBe(1);
    // Scatter of 25 %: half-width 1.96 · 25/√n ≤ 5 % wants about 96 patients.
    const loud = played(plan, () => 50, 0.25);
    const reached = loud.gathered.cell(0, 1).replicates.length;
    expect(reached).toBeGreaterThan(60);
    expect(reached).toBeLessThanOrEqual(200);
    expect(loud.told.length).toBeGreaterThan(4);
    expect(gathered.cell(0, 1).replicates.length).toBe(8);
    const least = smallPlan({
      replicates: '{ from: 8, to: 20, until: { measure: residual-noise, halfWidthPercent: 0.1 } }',
    });
    expect(played(least, () => 50).gathered.cell(0, 1).replicates.length).toBe(20);
  });

  it('stay within the budget', () => {
    const plan = smallPlan({
      replicates: '{ from: 8, to: 500, until: { measure: residual-noise, halfWidthPercent: 0.1 } }',
      budget: '{ recordings: 50 }',
      test: `[{ id: sealed }]`,
    });
    const { gathered, told } = played(plan, () => 50, 0.3);
    expect(gathered.recordingCount()).toBeLessThanOrEqual(50);
    expect(told[told.length - 1].name).toBe('sealed test');
    expect(told[told.length - 1].replicates).toBeGreaterThanOrEqual(8);
  });

  it('run the sealed scenarios last, for the choice and the reference only', () => {
    const plan = smallPlan({ ...sixteen, test: '[{ id: sealed }, { id: sealed-too }]', reference: 'plain-mean' });
    const { told, ranking } = played(plan, (setting, condition) => (condition > 0 ? 100 : 50 + Math.abs(setting - 5)));
    expect(told.map(({ name }) => name)).toEqual(['all settings', 'sealed test']);
    expect(told[1].settings[0]).toBe(0);
    expect(told[1].settings.length).toBe(2);
    expect(told[1].settings[1]).toBe(ranking[0].setting);
    expect(told[1].conditions).toEqual([1, 2]);
  });

  it('are the same for the same rows', () => {
    const plan = smallPlan({ ...sixteen, search: '{ kind: successive-halving, keepOneIn: 2 }', replicates: '24' });
    const noiseOf = (setting: number) => 50 + setting;
    expect(played(plan, noiseOf).told).toEqual(played(plan, noiseOf).told);
  });
});
