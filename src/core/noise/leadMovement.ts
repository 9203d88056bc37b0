import { cosineOfCycles, exp, sineOfCycles } from '../elementary.ts';
import { nextExponential, nextLogNormal, nextUniform, stream } from '../random/stream.ts';
import { CHANNEL_COUNT, type NoiseSource } from './noiseSource.ts';

const FREQUENCY_LOG_SD = 0.3; // no two knocks swing alike, our choice
const LASTING_DECAYS = 12; // e^−12 of a knock is left when it is forgotten: 6 parts in a million

interface Swing {
  from: number; // sample of the recording
  to: number;
  // A phasor that turns and shrinks from sample to sample: the swing is its imaginary part.
  real: number;
  imaginary: number;
  turnReal: number;
  turnImaginary: number;
}

/**
 * Leads that are knocked: friction charges the cable while it swings.
 *
 *     x(t) = ± size·sin(2πf·t)·exp(−t/τ)          from the knock on
 *
 * The swing is carried on by a recurrence, z ← z·e^(−1/τf_s + 2πjf/f_s): a sine and an exponential for each sample cost
 * a hundred times as much. Knocks are Poisson and each lead has its own; sizes and frequencies are log-normal. The shape is our choice.
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
    const fade = exp(-1 / decaySamples);
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
          real: up ? sizeUv : -sizeUv,
          imaginary: 0,
          turnReal: fade * cosineOfCycles(turnsPerSample),
          turnImaginary: fade * sineOfCycles(turnsPerSample),
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
          for (const swing of lead.swinging) addSwing(swing, out, start, end);
          lead.swinging = lead.swinging.filter(({ to }) => to > end);
        }
      },
    };
  },
};

/** Adds what a swing does within samples [start, end) and leaves it where it is at the end. */
function addSwing(swing: Swing, out: Float64Array, start: number, end: number): void {
  const { from, to, turnReal, turnImaginary } = swing;
  let { real, imaginary } = swing;
  const last = Math.min(end, to) - start;
  for (let i = Math.max(start, from) - start; i < last; i++) {
    out[i] += imaginary;
    const next = real * turnReal - imaginary * turnImaginary;
    imaginary = real * turnImaginary + imaginary * turnReal;
    real = next;
  }
  swing.real = real;
  swing.imaginary = imaginary;
}
