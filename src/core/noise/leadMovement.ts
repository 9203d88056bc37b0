import { exp, sineOfCycles } from '../elementary.ts';
import { nextExponential, nextLogNormal, nextUniform, stream } from '../random/stream.ts';
import { CHANNEL_COUNT, type NoiseSource } from './noiseSource.ts';

const FREQUENCY_LOG_SD = 0.3; // no two knocks swing alike, our choice
const LASTING_DECAYS = 12; // e^−12 of a knock is left when it is forgotten: 6 parts in a million

interface Swing {
  from: number; // sample of the recording
  to: number;
  sizeUv: number;
  turnsPerSample: number;
}

/**
 * Leads that are knocked: friction charges the cable while it swings.
 *
 *     x(t) = ± size·sin(2πf·t)·exp(−t/τ)          from the knock on
 *
 * Knocks are Poisson and each lead has its own; sizes and frequencies are log-normal. The shape is our choice.
 * Stream: 'lead-movement/knocks'.
 */
export const leadMovement: NoiseSource = {
  id: 'lead-movement',
  label: 'Lead movement',
  create(scenario, seed) {
    const setting = scenario.leadMovement;
    if (setting.knocksPerS === 0 || setting.knockUv === 0) return null;
    const { sampleRateHz } = scenario.converter;
    const decaySamples = setting.decayS * sampleRateHz;
    const leads = Array.from({ length: CHANNEL_COUNT }, (_, channel) => {
      const draws = stream(seed, 'lead-movement/knocks', channel);
      let onsetS = 0;
      const nextSwing = (): Swing => {
        onsetS += nextExponential(draws) / setting.knocksPerS;
        const from = Math.ceil(onsetS * sampleRateHz);
        const sizeUv = nextLogNormal(draws, setting.knockUv, setting.knockLogSd);
        const turnsPerSample = nextLogNormal(draws, setting.swingHz, FREQUENCY_LOG_SD) / sampleRateHz;
        const up = nextUniform(draws) < 0.5;
        return {
          from,
          to: from + Math.ceil(LASTING_DECAYS * decaySamples),
          sizeUv: up ? sizeUv : -sizeUv,
          turnsPerSample,
        };
      };
      return { nextSwing, upcoming: nextSwing(), swinging: [] as Swing[] };
    });

    return {
      addUv(channelsUv, start, count) {
        const end = start + count;
        for (const [c, lead] of leads.entries()) {
          while (lead.upcoming.from < end) {
            lead.swinging.push(lead.upcoming);
            lead.upcoming = lead.nextSwing();
          }
          const out = channelsUv[c];
          for (const { from, to, sizeUv, turnsPerSample } of lead.swinging) {
            const last = Math.min(end, to);
            for (let i = Math.max(start, from); i < last; i++) {
              const age = i - from;
              out[i - start] += sizeUv * sineOfCycles(turnsPerSample * age) * exp(-age / decaySamples);
            }
          }
          lead.swinging = lead.swinging.filter(({ to }) => to > end);
        }
      },
    };
  },
};
