import type { ActivityLevel } from './activityLevel.ts';
import type { BurstCarrier } from './burstTrain.ts';
import type { PlayingNoise } from './noiseSource.ts';

/**
 * Plays a muscle that is always at work: in each channel its own carrier, times one common level.
 *
 *     e(t) = gain · level(t) · z(t)
 *
 * @param carriers - one for each channel, unit variance   @param gains - one for each channel
 */
export function tonicMuscle(
  level: ActivityLevel,
  carriers: readonly BurstCarrier[],
  gains: readonly number[],
): PlayingNoise {
  let levels = new Float64Array(0);
  let carrier = new Float64Array(0);
  return {
    addUv(channelsUv, start, count) {
      if (levels.length < count) {
        levels = new Float64Array(count);
        carrier = new Float64Array(count);
      }
      level.fill(levels, start, count);
      for (let c = 0; c < gains.length; c++) {
        carriers[c].fill(carrier, count);
        const out = channelsUv[c];
        const gain = gains[c];
        for (let i = 0; i < count; i++) out[i] += gain * levels[i] * carrier[i];
      }
    },
  };
}
