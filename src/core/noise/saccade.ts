import { nextExponential, nextGaussian, stream } from '../random/stream.ts';
import { channelGain } from './electrodeSite.ts';
import type { NoiseSource } from './noiseSource.ts';

const TURN_S = 0.04; // time that a turn of the eye takes, our choice
const MEAN_STEP = 1.1283791670955126; // E|a − b| of two standard normal numbers: 2/√π

/**
 * Jumps of the gaze: the standing potential of the eye turns with it and stays where it is until the next jump.
 *
 * Each direction is drawn afresh, so steps have the mean size `saccadeUv` and do not run away. The two sides see
 * opposite steps. Fixations last exponentially. Stream: 'saccade/jumps'.
 */
export const saccade: NoiseSource = {
  id: 'saccade',
  label: 'Gaze jumps',
  create(scenario, seed) {
    const setting = scenario.eyes;
    if (setting.saccadesPerS === 0 || setting.saccadeUv === 0) return null;
    const { sampleRateHz } = scenario.converter;
    const gain = channelGain('eye', scenario.montage.site);
    const draws = stream(seed, 'saccade/jumps');
    const turn = Math.ceil(TURN_S * sampleRateHz);
    let beforeUv = 0;
    let afterUv = 0;
    let jumpAt = 0; // sample of the last jump
    let nextAt = drawFixation();

    function drawFixation(): number {
      return jumpAt + turn + Math.ceil((nextExponential(draws) / setting.saccadesPerS) * sampleRateHz);
    }

    return {
      addUv([out0, out1], start, count) {
        for (let i = 0; i < count; i++) {
          if (start + i === nextAt) {
            jumpAt = nextAt;
            beforeUv = afterUv;
            afterUv = (gain * setting.saccadeUv * nextGaussian(draws)) / MEAN_STEP;
            nextAt = drawFixation();
          }
          const u = start + i - jumpAt < turn ? (start + i - jumpAt) / turn : 1;
          const value = beforeUv + (afterUv - beforeUv) * u * u * (3 - 2 * u);
          out0[i] += value;
          out1[i] -= value;
        }
      },
    };
  },
};
