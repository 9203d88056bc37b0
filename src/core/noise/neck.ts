import { nextLogNormal, nextUniform, stream } from '../random/stream.ts';
import type { Scenario } from '../scenario/schema.ts';
import { activityLevel } from './activityLevel.ts';
import { channelGain } from './electrodeSite.ts';
import { muscleBursts, muscleCarriers } from './muscleBursts.ts';
import type { NoiseSource, PlayingNoise } from './noiseSource.ts';
import { tonicMuscle } from './tonicMuscle.ts';

const SMOOTHING_S = 0.5; // how fast a held level changes, our choice

/**
 * Tension of the neck: a level that is held for 10–60 s and then changes, and bursts on top.
 *
 * Each hold draws its length uniformly and its level log-normally about `tonicUv`; the two sides have their own noise
 * and the same level. Bursts as in `muscleBursts`. Streams: 'neck/holds', 'neck/tonic/carrier', 'neck/…'.
 */
export const neck: NoiseSource = {
  id: 'neck',
  label: 'Neck tension',
  create(scenario, seed) {
    const setting = scenario.neck;
    const { sampleRateHz } = scenario.converter;
    const gain = channelGain('neck', scenario.montage.site);
    const gains = [gain, gain * setting.contralateralGain];
    const parts = [
      setting.tonicUv > 0 ? tonic(setting, gains, sampleRateHz, seed) : null,
      muscleBursts('neck', setting, gains, sampleRateHz, seed),
    ].filter((part) => part !== null);
    if (parts.length === 0) return null;
    return {
      addUv(channelsUv, start, count) {
        for (const part of parts) part.addUv(channelsUv, start, count);
      },
    };
  },
};

function tonic(setting: Scenario['neck'], gains: readonly number[], sampleRateHz: number, seed: string): PlayingNoise {
  const { shortestHoldS, longestHoldS, tonicUv, tonicLogSd } = setting;
  const draws = stream(seed, 'neck/holds');
  const level = activityLevel(
    () => ({
      lengthS: shortestHoldS + (longestHoldS - shortestHoldS) * nextUniform(draws),
      targetUv: nextLogNormal(draws, tonicUv, tonicLogSd),
    }),
    SMOOTHING_S,
    sampleRateHz,
  );
  return tonicMuscle(level, muscleCarriers('neck/tonic', setting, gains.length, sampleRateHz, seed), gains);
}
