import { sineOfCycles } from '../elementary.ts';
import { ornsteinUhlenbeck } from '../random/ornsteinUhlenbeck.ts';
import { stream } from '../random/stream.ts';
import { muscleCarriers } from './muscleBursts.ts';
import type { NoiseSource } from './noiseSource.ts';
import { SLOW_STEP_SAMPLES } from './slowLevels.ts';
import { tonicMuscle } from './tonicMuscle.ts';

const RHYTHM_MEMORY_S = 2; // how long the rhythm keeps its pace, our choice

/**
 * Shivering or trembling: muscle noise whose size swells 8–12 times a second.
 *
 *     e(t) = a·[1 + m·sin(2πφ(t))]/√(1 + m²/2) · z(t),   φ = ∫ (f + δf) dt,   δf Ornstein–Uhlenbeck
 *
 * a is the rms size for any depth m. The rhythm is common to both channels, the noise z is not. It shakes all muscles,
 * so its size does not depend on the montage. Streams: 'shiver/rhythm', 'shiver/carrier'.
 */
export const shiver: NoiseSource = {
  id: 'shiver',
  label: 'Shivering',
  create(scenario, seed) {
    const setting = scenario.shiver;
    if (setting.muscleUv === 0) return null;
    const { sampleRateHz } = scenario.converter;
    const gains = [1, setting.contralateralGain];
    const pace = ornsteinUhlenbeck(
      stream(seed, 'shiver/rhythm'),
      setting.wanderHz,
      RHYTHM_MEMORY_S,
      SLOW_STEP_SAMPLES / sampleRateHz,
    );
    const sizeUv = setting.muscleUv / Math.sqrt(1 + (setting.depth * setting.depth) / 2);
    let turns = 0;
    let turnsPerSample = 0;
    const level = {
      fill(out: Float64Array, start: number, count: number) {
        for (let i = 0; i < count; i++) {
          if ((start + i) % SLOW_STEP_SAMPLES === 0) turnsPerSample = (setting.rhythmHz + pace.next()) / sampleRateHz;
          out[i] = sizeUv * (1 + setting.depth * sineOfCycles(turns));
          turns += turnsPerSample;
          if (turns >= 1) turns -= 1; // keeps all digits of the phase
        }
      },
    };
    return tonicMuscle(level, muscleCarriers('shiver', setting, gains.length, sampleRateHz, seed), gains);
  },
};
