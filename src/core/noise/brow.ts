import { stream } from '../random/stream.ts';
import type { BurstCarrier } from './burstTrain.ts';
import { channelGain } from './electrodeSite.ts';
import { muscleBursts, muscleCarriers } from './muscleBursts.ts';
import type { NoiseSource } from './noiseSource.ts';
import { resonance } from './resonance.ts';

const RHYTHM_HZ = 30; // model value: where the motor units of a frowning forehead fire together
const RHYTHM_WIDTH_HZ = 6; // our choice

/**
 * Frowning: bursts whose noise holds a rhythm near 30 Hz besides the broad muscle spectrum.
 *
 *     z = √(1 − p)·broad + √p·rhythm,   p = rhythmShare
 *
 * Bursts as in `muscleBursts`. Streams: 'brow/…', 'brow/rhythm'.
 */
export const brow: NoiseSource = {
  id: 'brow',
  label: 'Frowning',
  create(scenario, seed) {
    const setting = scenario.brow;
    const { sampleRateHz } = scenario.converter;
    const gain = channelGain('brow', scenario.montage.site);
    const carriers = muscleCarriers('brow', setting, 2, sampleRateHz, seed).map((broad, channel) =>
      mixed(
        broad,
        resonance(stream(seed, 'brow/rhythm', channel), RHYTHM_HZ, RHYTHM_WIDTH_HZ, sampleRateHz),
        setting.rhythmShare,
      ),
    );
    return muscleBursts('brow', setting, [gain, gain * setting.contralateralGain], sampleRateHz, seed, carriers);
  },
};

function mixed(broad: BurstCarrier, rhythm: BurstCarrier, rhythmShare: number): BurstCarrier {
  const broadSize = Math.sqrt(1 - rhythmShare);
  const rhythmSize = Math.sqrt(rhythmShare);
  let rhythmic = new Float64Array(0);
  return {
    fill(out, count) {
      if (rhythmic.length < count) rhythmic = new Float64Array(count);
      broad.fill(out, count);
      rhythm.fill(rhythmic, count);
      for (let i = 0; i < count; i++) out[i] = broadSize * out[i] + rhythmSize * rhythmic[i];
    },
    reset() {
      broad.reset();
      rhythm.reset();
    },
  };
}
