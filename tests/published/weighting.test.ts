import { describe, expect, it } from 'vitest';
import { blockWeighting } from '../../src/core/averaging/blockWeighting.ts';
import { nextGaussian, stream } from '../../src/core/random/stream.ts';
import { preset } from '../../src/core/scenario/presets.ts';
import type { LaneSetting } from '../../src/core/session/lanes.ts';
import { deviation, laneErrors, mean, rms } from './raceRuns.ts';

const POINTS = 240;
const context = {
  samplesPerSweep: POINTS,
  sampleRateHz: 16000,
  preSampleCount: 0,
  analysisFrom: 0,
  analysisTo: POINTS,
  respectFlags: true,
};

describe('A04: weights are inversely proportional to the estimated variance', () => {
  // Source: possibilities and limitations of weighted averaging (published values A04, found).
  it('block weighting: blocks with 1, 9 and 100 times the variance', () => {
    const draws = stream('weights', 'white');
    const weights: number[] = [];
    const parameters = { blockLength: 64, varianceFloorUv2: 0, independentPoints: POINTS };
    const averager = blockWeighting.create(context, parameters, ({ index, weight }) => {
      weights[index] = weight;
    });
    for (const [block, sd] of [1, 3, 10].entries()) {
      for (let k = 0; k < 64; k++) {
        const sweepUv = Float64Array.from({ length: POINTS }, () => sd * nextGaussian(draws));
        averager.add(sweepUv, { index: 64 * block + k, timeS: 0, polarity: 1, overRange: false });
      }
    }
    // A variance from 63·240 independent values is known to √(2/15120) = 1.2 %, a ratio of two to 1.6 %.
    expect(Math.abs(weights[0] / weights[64] / 9 - 1)).toBeLessThan(4 * 0.016);
    expect(Math.abs(weights[0] / weights[128] / 100 - 1)).toBeLessThan(4 * 0.016);
  });
});

describe('A06: weighting helps where the noise changes, and only there', () => {
  // Source: as A04 (published values A06, found).
  const lanes: LaneSetting[] = [
    { strategy: 'plain-mean', parameters: {} },
    { strategy: 'block-weighting', parameters: { blockLength: 32, varianceFloorUv2: 0.01, independentPoints: 11 } },
  ];
  /** Logarithm of plain over weighted noise, by seed. */
  const gains = (document: object, count: number) =>
    Array.from({ length: 16 }, (_, r) => {
      const [[plain, weighted]] = laneErrors(document, `a06/${r}`, lanes, [count]);
      return Math.log(rms(plain) / rms(weighted));
    });
  const slow = { converter: { sampleRateHz: 8000 }, session: { durationS: 40 } };

  it('not in a quiet sleeper whose EEG does not swell: within 5 %', () => {
    const logs = gains(
      { ...preset('quiet-sleeper'), ...slow, eeg: { gainLogSd: 0 }, mains: { fundamentalUv: 0 } },
      1088,
    );
    const standardError = deviation(logs) / Math.sqrt(logs.length);
    expect(Math.abs(mean(logs))).toBeLessThan(0.05 + 3 * standardError);
    expect(standardError).toBeLessThan(0.03);
  });

  it('more than twofold in a clencher', () => {
    const logs = gains({ ...preset('jaw-clencher'), ...slow }, 1088);
    expect(mean(logs) - (3 * deviation(logs)) / Math.sqrt(logs.length)).toBeGreaterThan(Math.log(2));
  });
});
