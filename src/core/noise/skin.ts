import { stream } from '../random/stream.ts';
import { joinedSteps } from './joinedSteps.ts';
import { CHANNEL_COUNT, type NoiseSource } from './noiseSource.ts';
import { SLOW_STEP_SAMPLES } from './slowLevels.ts';
import { smoothWander } from './smoothWander.ts';

/**
 * Slow potentials of sweating skin, in each electrode by itself.
 *
 *     x_c(t) = sweatUv·[e_0(t) − e_c(t)]/√2          e smooth wander about 0, corner 0.05–0.2 Hz
 *
 * Electrode 0 is common to both channels, the others sit one on each side; a channel has the rms size `sweatUv`.
 * Stream: 'skin/sweat'.
 */
export const skin: NoiseSource = {
  id: 'skin',
  label: 'Sweating skin',
  create(scenario, seed) {
    const { sweatUv, cornerHz } = scenario.skin;
    if (sweatUv === 0) return null;
    const stepS = SLOW_STEP_SAMPLES / scenario.converter.sampleRateHz;
    const electrodes = Array.from({ length: CHANNEL_COUNT + 1 }, (_, electrode) =>
      smoothWander(stream(seed, 'skin/sweat', electrode), cornerHz, stepS),
    );
    const [common, ...sides] = electrodes;
    return joinedSteps((valuesUv) => {
      const commonNow = common();
      for (const [c, side] of sides.entries()) valuesUv[c] = sweatUv * Math.SQRT1_2 * (commonNow - side());
    });
  },
};
