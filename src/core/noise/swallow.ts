import { channelGain } from './electrodeSite.ts';
import { heldMuscle } from './heldMuscle.ts';
import { muscleBursts } from './muscleBursts.ts';
import type { NoiseSource } from './noiseSource.ts';

/** Swallowing: rare, long and even bursts of mouth and throat; see `muscleBursts`; one that is asked for is
 * held on top, see `heldMuscle`. Streams: 'swallow/…'. */
export const swallow: NoiseSource = {
  id: 'swallow',
  label: 'Swallowing',
  create(scenario, seed) {
    const setting = scenario.swallow;
    const gain = channelGain('swallow', scenario.montage.site);
    const gains = [gain, gain * setting.contralateralGain];
    const { sampleRateHz } = scenario.converter;
    const bursts = muscleBursts('swallow', setting, gains, sampleRateHz, seed);
    return heldMuscle('swallow', bursts, setting, gains, sampleRateHz, seed);
  },
};
