import { channelGain } from './electrodeSite.ts';
import { muscleBursts } from './muscleBursts.ts';
import type { NoiseSource } from './noiseSource.ts';

/** Swallowing: rare, long and even bursts of mouth and throat; see `muscleBursts`. Streams: 'swallow/…'. */
export const swallow: NoiseSource = {
  id: 'swallow',
  label: 'Swallowing',
  create(scenario, seed) {
    const setting = scenario.swallow;
    const gain = channelGain('swallow', scenario.montage.site);
    return muscleBursts(
      'swallow',
      setting,
      [gain, gain * setting.contralateralGain],
      scenario.converter.sampleRateHz,
      seed,
    );
  },
};
