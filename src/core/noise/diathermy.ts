import { exp } from '../elementary.ts';
import { nextExponential, nextLogNormal, nextUniform, stream } from '../random/stream.ts';
import type { NoiseSource } from './noiseSource.ts';

/**
 * The electric knife: seconds of sparks of some 10 mV, far beyond the range of any amplifier set for a response.
 *
 *     x(t) = Σ_sparks ± size·exp(−(t − t_s)/τ)
 *
 * Uses are Poisson, uniformly long; within one, sparks are Poisson with log-normal sizes of random sign. This is what
 * input filter and tissue leave of a radio-frequency current: the carrier itself is not modelled. All channels see the
 * same sparks. Streams: 'diathermy/uses', 'diathermy/sparks'.
 */
export const diathermy: NoiseSource = {
  id: 'diathermy',
  label: 'Electric knife',
  create(scenario, seed) {
    const setting = scenario.diathermy;
    if (setting.burstsPerS === 0 || setting.sparkUv === 0) return null;
    const { sampleRateHz } = scenario.converter;
    const useDraws = stream(seed, 'diathermy/uses');
    const sparkDraws = stream(seed, 'diathermy/sparks');
    const fade = exp(-1000 / (setting.sparkMs * sampleRateHz));
    let endS = 0;
    let sparkS = 0;
    startUse();
    let sparkAt = drawSpark();
    let valueUv = 0;

    function startUse(): void {
      sparkS = endS + nextExponential(useDraws) / setting.burstsPerS;
      endS = sparkS + setting.shortestS + (setting.longestS - setting.shortestS) * nextUniform(useDraws);
    }

    function drawSpark(): number {
      sparkS += nextExponential(sparkDraws) / setting.sparksPerS;
      while (sparkS >= endS) {
        startUse();
        sparkS += nextExponential(sparkDraws) / setting.sparksPerS;
      }
      return Math.ceil(sparkS * sampleRateHz);
    }

    return {
      addUv([out0, out1], start, count) {
        if (valueUv === 0 && sparkAt >= start + count) return;
        for (let i = 0; i < count; i++) {
          while (start + i >= sparkAt) {
            const sizeUv = nextLogNormal(sparkDraws, setting.sparkUv, setting.sparkLogSd);
            valueUv += nextUniform(sparkDraws) < 0.5 ? sizeUv : -sizeUv;
            sparkAt = drawSpark();
          }
          out0[i] += valueUv;
          out1[i] += setting.contralateralGain * valueUv;
          valueUv *= fade;
          if (valueUv < 1e-9 && valueUv > -1e-9) valueUv = 0; // else it fades into slow denormals
        }
      },
    };
  },
};
