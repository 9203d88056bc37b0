import { describe, expect, it } from 'vitest';
import { answersOf, contractContext } from '../../../src/core/averaging/contractPatient.ts';
import { averagingStrategy } from '../../../src/core/averaging/index.ts';
import { nuisanceCurves } from '../../../src/core/averaging/nuisanceCurves.ts';
import { fillGaussian, stream } from '../../../src/core/random/stream.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { laneOf } from '../../../src/core/session/lanes.ts';
import { mean, standardError } from '../sampleStatistics.ts';

const { samplesPerSweep: LENGTH } = contractContext;
const SWEEPS = 200;
const RUNS = 6;
const strategy = averagingStrategy('state-space');
const { parameters } = laneOf(resolveScenario({}), 'state-space');

/** Power left of the sweeps of AR(1) noise of 2 µV, in units of a mean of all, and own claim over what is left. */
function runs(beat: number, ratePerS: number, memory: number) {
  const powers: number[] = [];
  const claims: number[] = [];
  for (let run = 0; run < RUNS; run++) {
    const draws = stream(String(run), 'test/states');
    const averager = strategy.create(contractContext, parameters as never, () => {});
    const samplesUv = new Float64Array(beat);
    let value = 0;
    for (let index = 0; index < SWEEPS; index++) {
      fillGaussian(draws, samplesUv, beat);
      for (let i = 0; i < beat; i++) {
        value = memory * value + Math.sqrt(1 - memory * memory) * samplesUv[i];
        samplesUv[i] = 2 * value;
      }
      const timeS = (index + 1) / ratePerS;
      const firstSample = Math.round(timeS * 16000) - beat;
      const meta = { index, timeS, polarity: 1, overRange: false } as const;
      averager.add(samplesUv.slice(beat - LENGTH), { ...meta, interval: { samplesUv, firstSample } });
    }
    const { estimateUv, ownNoiseUv } = answersOf(averager);
    powers.push((mean(estimateUv.subarray(20, 60).map((uv) => uv * uv)) * SWEEPS) / 4);
    claims.push(ownNoiseUv);
  }
  return { powers, honesty: mean(claims) / Math.sqrt((mean(powers) * 4) / SWEEPS) };
}

describe('state-space tracking', () => {
  // The claim holds what errors in drift and mains do to the average: our derivation, in stateSpaceFilter.ts.
  it.each([
    ['6 ms of each beat, white noise', 96, 30, 0, 1.5],
    ['6 ms of each beat, AR(1) noise', 96, 30, 0.9, 1.9],
    ['6 ms, all there is', 96, 16000 / 96, 0, 1.5],
    ['a usual beat of 34 ms, white noise', 544, 16000 / 544, 0, 1.05],
  ])('claims between 0.8 and 1.25 of what it leaves where it hears %s', (_what, beat, ratePerS, memory, most) => {
    const { powers, honesty } = runs(beat, ratePerS, memory);
    expect(honesty).toBeGreaterThan(0.8);
    expect(honesty).toBeLessThan(1.25);
    expect(mean(powers)).toBeLessThan(most + 4 * standardError(powers));
  });
});

describe('the curves of drift and mains', () => {
  it('are 1, time and the harmonics in the phase of the recording, whatever was asked before', () => {
    const { count, over } = nuisanceCurves(50, 2, 16000);
    expect(count).toBe(6);
    over(0, 400, 0);
    const [one, time, ...waves] = over(1000, 300, 100);
    expect([one[7], time[100], time[260]]).toEqual([1, 0, 0.01]);
    for (const [k, wave] of waves.entries()) {
      const turns = (Math.floor(k / 2) + 1) * 50 * ((1000 + 299) / 16000);
      const real = k % 2 === 0 ? Math.cos(2 * Math.PI * turns) : Math.sin(2 * Math.PI * turns);
      expect(wave[299]).toBeCloseTo(real, 9);
    }
  });
});
