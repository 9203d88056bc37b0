import { sineOfCycles } from '../elementary.ts';
import { breathingRhythm } from './breathingRhythm.ts';
import { joinedSteps } from './joinedSteps.ts';
import type { NoiseSource } from './noiseSource.ts';

/**
 * Breathing: a slow wave in both channels, with the wandering rate of the patient's breath.
 *
 *     x(t) = size·sin(2πφ(t))          φ from `breathingRhythm`
 *
 * The heart follows the same breath. Stream: 'breathing/rhythm'.
 */
export const breathing: NoiseSource = {
  id: 'breathing',
  label: 'Breathing',
  create(scenario, seed) {
    const { sizeUv, contralateralGain } = scenario.breathing;
    if (sizeUv === 0) return null;
    const rhythm = breathingRhythm(scenario, seed);
    let step = 0;
    return joinedSteps((valuesUv) => {
      valuesUv[0] = sizeUv * sineOfCycles(rhythm.turnsAtStep(step++));
      valuesUv[1] = contralateralGain * valuesUv[0];
    });
  },
};
