import { muscleCarriers } from './muscleBursts.ts';
import type { PlayingNoise } from './noiseSource.ts';
import { tonicMuscle } from './tonicMuscle.ts';

/**
 * Adds a muscle that is held at one level to whatever it does by itself.
 *
 *     e(t) = bursts(t) + gain · held · z(t)
 *
 * The bursts are the same with and without. Stream of z: '<id>/held/carrier'.
 *
 * @param bursts - what the muscle does by itself, or null   @param setting - `heldUv` in µV rms, 0 for none
 * @param gains - size in each channel   @returns null if there is neither
 */
export function heldMuscle(
  id: string,
  bursts: PlayingNoise | null,
  setting: { heldUv: number; lowHz: number; highHz: number; unitsPerS?: number },
  gains: readonly number[],
  sampleRateHz: number,
  seed: string,
): PlayingNoise | null {
  if (setting.heldUv === 0) return bursts;
  const steady = {
    fill: (out: Float64Array, _start: number, count: number) => void out.fill(setting.heldUv, 0, count),
  };
  const held = tonicMuscle(steady, muscleCarriers(`${id}/held`, setting, gains.length, sampleRateHz, seed), gains);
  return {
    addUv(channelsUv, start, count) {
      bursts?.addUv(channelsUv, start, count);
      held.addUv(channelsUv, start, count);
    },
  };
}
