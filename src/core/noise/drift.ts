import { exp } from '../elementary.ts';
import { nextExponential, nextGaussian, nextLogNormal, nextUniform, stream } from '../random/stream.ts';
import type { NoiseSource } from './noiseSource.ts';
import { SLOW_STEP_SAMPLES } from './slowLevels.ts';

const STEP_LOG_SD = 0.5; // scatter of step sizes, our choice

/**
 * Slow potentials of the electrodes: a random walk, and the sudden steps of a poor contact.
 *
 * Three electrodes wander independently: the one at the vertex is common to both channels (positive input), one behind
 * each ear is the channel's own. A walk is √contactFactor times as large: a poor contact drifts more (our choice). Walks are drawn
 * every 32 samples and joined by straight lines. A step comes at a Poisson instant, up or down, of log-normal size, and
 * fades exponentially; it happens in the ear electrodes, stepFactor times as often as `drift.stepsPerS` says.
 * Streams: 'drift/walk', 'drift/steps'.
 */
export const drift: NoiseSource = {
  id: 'drift',
  label: 'Electrode drift',
  create(scenario, seed) {
    const { walkUvPerRtS, stepsPerS, stepUv, stepRecoveryS } = scenario.drift;
    const { sampleRateHz } = scenario.converter;
    const stepping = stepsPerS > 0 && stepUv > 0;
    if (walkUvPerRtS === 0 && !stepping) return null;
    const { common, ipsilateral, contralateral } = scenario.electrodes;
    const rates = [ipsilateral, contralateral].map(({ stepFactor }) => (stepping ? stepsPerS * stepFactor : 0));
    const sizes = [common, ipsilateral, contralateral].map(({ contactFactor }) => Math.sqrt(contactFactor));
    const walkDraws = [0, 1, 2].map((electrode) => stream(seed, 'drift/walk', electrode));
    const stepDraws = [0, 1].map((channel) => stream(seed, 'drift/steps', channel));
    const walkUv = walkUvPerRtS * Math.sqrt(SLOW_STEP_SAMPLES / sampleRateHz);
    const fade = exp(-1 / (stepRecoveryS * sampleRateHz));
    const value = new Float64Array(2);
    const slope = new Float64Array(2); // µV per sample
    const offset = new Float64Array(2); // what is left of past steps
    const stepAt = [0, 1].map((channel) => drawGap(channel));

    function drawGap(channel: number): number {
      const perS = rates[channel];
      return perS > 0 ? Math.ceil((nextExponential(stepDraws[channel]) / perS) * sampleRateHz) : Infinity;
    }

    function drawStepUv(channel: number): number {
      const sizeUv = nextLogNormal(stepDraws[channel], stepUv, STEP_LOG_SD);
      return nextUniform(stepDraws[channel]) < 0.5 ? sizeUv : -sizeUv;
    }

    return {
      addUv(channelsUv, start, count) {
        for (let from = 0; from < count; ) {
          const phase = (start + from) % SLOW_STEP_SAMPLES;
          if (phase === 0) {
            const vertexUv = sizes[0] * nextGaussian(walkDraws[0]);
            for (let c = 0; c < 2; c++) {
              if (offset[c] < 1e-12 && offset[c] > -1e-12) offset[c] = 0; // else it fades into slow denormals
              slope[c] = (walkUv * (vertexUv - sizes[c + 1] * nextGaussian(walkDraws[c + 1]))) / SLOW_STEP_SAMPLES;
            }
          }
          const to = Math.min(count, from + SLOW_STEP_SAMPLES - phase);
          addLines(channelsUv[0], channelsUv[1], value, slope, from, to);
          if (stepping) for (let c = 0; c < 2; c++) addSteps(channelsUv[c], start, from, to, c);
          from = to;
        }
      },
    };

    function addSteps(out: Float64Array, start: number, from: number, to: number, channel: number): void {
      let left = offset[channel];
      for (let i = from; i < to; i++) {
        if (start + i >= stepAt[channel]) {
          left += drawStepUv(channel);
          stepAt[channel] += drawGap(channel);
        }
        out[i] += left;
        left *= fade;
      }
      offset[channel] = left;
    }
  },
};

/** Adds a straight line to samples [from, to) of each channel and leaves `value` where it ends. */
function addLines(
  out0: Float64Array,
  out1: Float64Array,
  value: Float64Array,
  slope: Float64Array,
  from: number,
  to: number,
): void {
  const slope0 = slope[0];
  const slope1 = slope[1];
  let now0 = value[0];
  let now1 = value[1];
  for (let i = from; i < to; i++) {
    out0[i] += now0;
    out1[i] += now1;
    now0 += slope0;
    now1 += slope1;
  }
  value[0] = now0;
  value[1] = now1;
}
