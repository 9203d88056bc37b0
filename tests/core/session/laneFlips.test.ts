import { describe, expect, it } from 'vitest';
import { contractContext } from '../../../src/core/averaging/contractPatient.ts';
import { fillGaussian, stream } from '../../../src/core/random/stream.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { laneFlipTest } from '../../../src/core/session/laneFlips.ts';
import { laneOf } from '../../../src/core/session/lanes.ts';

const { samplesPerSweep: LENGTH } = contractContext;
const scenario = resolveScenario({});

/** A recording of AR(1) noise that runs on from sweep to sweep, so that a sweep holds few independent numbers. */
function silentSweeps(r: number, count: number, responseUv = 0) {
  const draws = stream(String(r), 'test/ar');
  const white = new Float64Array(LENGTH);
  let value = 0;
  const sweepsUv = Array.from({ length: count }, () => {
    fillGaussian(draws, white, LENGTH);
    return white.map((fresh, i) => {
      value = 0.9 * value + 0.436 * fresh;
      return 3 * value + (i > 30 && i < 40 ? responseUv : 0);
    });
  });
  const metas = sweepsUv.map((_, index) => ({
    ...{ index, timeS: (index + 1) * (LENGTH / 16000), overRange: false },
    polarity: index % 2 === 0 ? (1 as const) : (-1 as const),
  }));
  return { sweepsUv, metas };
}

function test(strategy: string, kept: ReturnType<typeof silentSweeps>, seed: string, flips: number) {
  const steps = laneFlipTest(laneOf(scenario, strategy), contractContext, kept, flips, seed);
  let step = steps.next();
  for (; !step.done; step = steps.next()) expect(step.value).toBeLessThanOrEqual(1);
  return step.value;
}

describe('laneFlipTest', () => {
  // By the argument in `laneFlipTest` the p is exact: of 19 flips 1 in 20 is as large by chance. 3 standard errors.
  it.each(['kalman', 'sorted-averaging', 'block-weighting'])(
    '%s: a nominal 5 per cent of false alarms in AR(1) noise without a response',
    (strategy) => {
      const runs = 160;
      const alarms: Record<string, number> = {};
      for (let r = 0; r < runs; r++) {
        const { p } = test(strategy, silentSweeps(r, 96), String(r), 19);
        for (const [name, value] of Object.entries(p))
          alarms[name] = (alarms[name] ?? 0) + (value <= 0.05 + 1e-9 ? 1 : 0);
      }
      expect(Object.keys(alarms)).toHaveLength(5);
      for (const [name, count] of Object.entries(alarms)) {
        expect(Math.abs(count / runs - 0.05), name).toBeLessThan(3 * Math.sqrt((0.05 * 0.95) / runs));
      }
    },
  );

  it('finds a response, and gives the same p twice', () => {
    const kept = silentSweeps(1, 160, 3);
    const { values, p } = test('kalman', kept, '1', 39);
    expect(values.fmp).toBeGreaterThan(3);
    for (const value of Object.values(p)) expect(value).toBeLessThan(0.06);
    expect(test('kalman', kept, '1', 39)).toEqual({ values, p });
  });
});
