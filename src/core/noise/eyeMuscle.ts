import { exp } from '../elementary.ts';
import { ornsteinUhlenbeck } from '../random/ornsteinUhlenbeck.ts';
import { stream } from '../random/stream.ts';
import { muscleCarriers } from './muscleBursts.ts';
import type { NoiseSource } from './noiseSource.ts';
import { SLOW_STEP_SAMPLES } from './slowLevels.ts';
import { tonicMuscle } from './tonicMuscle.ts';

const BAND = { lowHz: 50, highHz: 200 }; // our choice: as of other small muscles
const SWELL_MEMORY_S = 5; // our choice
const ELSEWHERE = 0.02; // size at any other site relative to that under the eye, our choice

/**
 * Steady activity of the small muscles under the eye, on which a response of these muscles rides.
 *
 *     e(t) = muscleUv·exp(g(t))·z(t)             g Ornstein–Uhlenbeck, SD `muscleLogSd`, memory 5 s
 *
 * Hardly anything of it reaches the other sites. Streams: 'eye-muscle/swell', 'eye-muscle/carrier'.
 */
export const eyeMuscle: NoiseSource = {
  id: 'eye-muscle',
  label: 'Eye muscles',
  create(scenario, seed) {
    const { muscleUv, muscleLogSd } = scenario.eyes;
    if (muscleUv === 0) return null;
    const { sampleRateHz } = scenario.converter;
    const gain = scenario.montage.site === 'infra-orbital' ? 1 : ELSEWHERE;
    const swell = ornsteinUhlenbeck(
      stream(seed, 'eye-muscle/swell'),
      muscleLogSd,
      SWELL_MEMORY_S,
      SLOW_STEP_SAMPLES / sampleRateHz,
    );
    let levelUv = 0;
    const level = {
      fill(out: Float64Array, start: number, count: number) {
        for (let i = 0; i < count; i++) {
          if ((start + i) % SLOW_STEP_SAMPLES === 0) levelUv = muscleUv * exp(swell.next());
          out[i] = levelUv;
        }
      },
    };
    return tonicMuscle(level, muscleCarriers('eye-muscle', BAND, 2, sampleRateHz, seed), [gain, gain]);
  },
};
