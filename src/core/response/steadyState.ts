import { exp, log, sineOfCycles } from '../elementary.ts';
import { ornsteinUhlenbeck } from '../random/ornsteinUhlenbeck.ts';
import { stream } from '../random/stream.ts';
import { heardBeatHz } from '../stimulus/heardBeat.ts';
import { LEAD_IN_S } from '../stimulus/schedule.ts';
import { laterEar } from './laterEar.ts';
import type { ResponseKind } from './responseKind.ts';
import { trajectory } from './trajectory.ts';

const STEP_S = 0.02; // s: the slow changes are constant for so long, our choice
const MEMORY_S = 5; // s: how long a swell of the response lasts, model value
const FAR_CHANNEL_GAIN = 0.9; // ×, model value

/**
 * Auditory steady-state response: the beat of a tone that never stops, followed by the brain.
 *
 *     s(t) = A·[ sin φ + 0.25·sin 2φ + 0.1·sin 3φ ],   φ = 2π·f·(t − delay),   from the first stimulus on
 *
 * A falls from 0.3 µV at 40 Hz to 0.05 µV at 80 Hz and above, with the delay from 35 to 18 ms; over level as
 * 1 − e^(−L/40). A sick nerve takes the root of its gain off the beat of 40 Hz, all of it off that of 80 Hz, which the
 * brainstem follows. Model values. A swells and fades with `response.amplitudeLogSd` as a slow process (5 s) from the stream
 * 'response/scatter'; latency jitter does not apply, because there is no onset. Sweeps are cut at the stimulus rate: the beat
 * is moved to a whole number of cycles per interval, as is common practice, so that they add up.
 */
export const steadyState: ResponseKind = {
  id: 'steady-state',
  label: 'Steady-state response',
  create(scenario, seed) {
    const { sampleRateHz } = scenario.converter;
    const beatHz = heardBeatHz(scenario);
    const ear = laterEar(scenario, nerveExponent(beatHz), (levelDb) => steadyStateUv(beatHz, levelDb));
    const sizeUv = ear ? scenario.response.amplitudeScale * steadyStateUv(beatHz, ear.levelDbNhl) * ear.sizeFactor : 0;
    const delayS = 0.001 * (delayMs(beatHz) + (ear?.delayMs ?? 0));
    const displacement = trajectory(scenario);
    const { amplitudeLogSd } = scenario.response;
    const swell = ornsteinUhlenbeck(stream(seed, 'response/scatter'), amplitudeLogSd, MEMORY_S, STEP_S);
    const stepSamples = Math.round(STEP_S * sampleRateHz);
    const onset = Math.round(LEAD_IN_S * sampleRateHz);
    let nextStep = 0; // sample at which the next step begins
    let stepUv = 0;
    let latencyS = 0;
    return {
      present() {},
      addUv([outIpsi, outContra], start, count) {
        for (let i = 0; i < count; i++) {
          const sample = start + i;
          if (sample >= nextStep) {
            const { amplitudeFactor, latencyMs } = displacement(sample);
            stepUv = sizeUv * amplitudeFactor * exp(swell.next());
            latencyS = delayS + 0.001 * latencyMs;
            nextStep += stepSamples;
          }
          if (sample < onset) continue;
          const cycles = beatHz * ((sample - onset) / sampleRateHz - latencyS);
          const valueUv =
            stepUv * (sineOfCycles(cycles) + 0.25 * sineOfCycles(2 * cycles) + 0.1 * sineOfCycles(3 * cycles));
          outIpsi[i] += valueUv;
          outContra[i] += FAR_CHANNEL_GAIN * valueUv;
        }
      },
    };
  },
};

/** Size of the response at its beat, µV; 0 below 3 dB nHL. @example steadyStateUv(40, 60) // 0.233 */
export function steadyStateUv(beatHz: number, levelDbNhl: number): number {
  if (levelDbNhl < 3) return 0;
  return 0.3 * exp(towardsFast(beatHz) * log(0.05 / 0.3)) * (1 - exp(-levelDbNhl / 40));
}

function delayMs(beatHz: number): number {
  return 35 + towardsFast(beatHz) * (18 - 35);
}

/** Share of a sick nerve's loss that shows, as an exponent: half at 40 Hz, as in the middle latencies, all at 80 Hz. */
function nerveExponent(beatHz: number): number {
  return 0.5 + 0.5 * towardsFast(beatHz);
}

/** 0 at 40 Hz and below, 1 at 80 Hz and above, even steps on a log scale between. */
function towardsFast(beatHz: number): number {
  return Math.min(1, Math.max(0, log(beatHz / 40) / log(2)));
}
