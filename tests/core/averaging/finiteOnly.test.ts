import { describe, expect, it } from 'vitest';
import { contractContext, contractPatient, offer, openSubject } from '../../../src/core/averaging/contractPatient.ts';
import { finiteOnly } from '../../../src/core/averaging/finiteOnly.ts';
import { averagingStrategies } from '../../../src/core/averaging/index.ts';
import { plainMean } from '../../../src/core/averaging/plainMean.ts';
import { prestimulusWeighting } from '../../../src/core/averaging/prestimulusWeighting.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { laneOf, openLane } from '../../../src/core/session/lanes.ts';

const spoilt = (value: number) => new Float64Array(64).fill(1).fill(value, 5, 6);

describe('finiteOnly', () => {
  it.each([NaN, Infinity, -Infinity, 1e200, 2e12])('leaves out a sweep with %d and says why', (value) => {
    const subject = { strategy: finiteOnly(plainMean), parameters: {} };
    const { averager, verdicts } = openSubject(subject);
    offer(subject, averager, [{ sweepUv: spoilt(2) }, { sweepUv: spoilt(value) }]);
    expect(verdicts.map(({ weight, reason }) => [weight, reason])).toEqual([
      [1, 'taken'],
      [0, 'rejected'],
    ]);
    expect(subject.strategy.explain(verdicts[1])).toMatch(/^Left out: it holds a value that is no voltage/);
    expect(averager.usedCount()).toBe(1);
  });

  it('lets everything else pass, to the bit', () => {
    const sweeps = [...contractPatient(40, '7'), { sweepUv: spoilt(1e11) }];
    const outcomes = [plainMean, finiteOnly(plainMean)].map((strategy) => {
      const opened = openSubject({ strategy, parameters: {} });
      offer({ strategy, parameters: {} }, opened.averager, sweeps);
      const estimateUv = new Float64Array(64);
      opened.averager.read(estimateUv);
      return { estimateUv, verdicts: opened.verdicts };
    });
    expect(outcomes[1]).toEqual(outcomes[0]);
  });

  it('withholds a stretch between sweeps that holds such a value, not the sweep', () => {
    const averager = finiteOnly(prestimulusWeighting).create(
      contractContext,
      { lengthMs: 15, varianceFloorUv2: 0.25 },
      () => {},
    );
    const samplesUv = new Float64Array(96).fill(NaN, 0, 32);
    const interval = { samplesUv, firstSample: 0 };
    averager.add(samplesUv.slice(32), { index: 0, timeS: 1, polarity: 1, overRange: false, interval });
    expect(averager.usedCount()).toBe(1);
    expect(averager.effectiveCount()).toBe(1);
  });

  it('guards every strategy of the lab, and every outside one once it races', () => {
    const scenario = resolveScenario({});
    const foreign = { ...plainMean, id: 'foreign' };
    const settings = [
      ...averagingStrategies.map(({ id }) => laneOf(scenario, id)),
      { strategy: 'foreign', parameters: {} },
    ];
    for (const setting of settings) {
      const { averager } = openLane(setting, contractContext, undefined, [foreign]);
      averager.add(spoilt(NaN), { index: 0, timeS: 1, polarity: 1, overRange: false });
      expect(averager.usedCount(), setting.strategy).toBe(0);
    }
  });
});
