import { nextGaussian, nextLogNormal, stream } from '../random/stream.ts';
import type { Scenario } from '../scenario/schema.ts';
import type { Presentation } from '../stimulus/schedule.ts';
import { clickAbrTemplate } from './clickAbr.ts';

/** Puts the response to each presentation on the continuous time base. */
export interface EvokedResponse {
  /** Tells of the next presentation; must come before the block that holds its first sample. */
  present(presentation: Presentation): void;
  /** Adds samples [start, start + count) to the two channels, µV. */
  addUv(channelsUv: readonly Float64Array[], start: number, count: number): void;
}

const OVERSAMPLING = 16; // template points per sample: linear interpolation errs by less than 10^−4 of the peak

interface Playing {
  sample: number; // of the stimulus
  skip: number; // template points between stimulus and first sample, fractional, because of latency jitter
  gain: number;
  condensation: boolean;
}

/**
 * Makes the response of a scenario: a template for each polarity and channel, moved and scaled from sweep to sweep.
 *
 * Latency jitter is normal, amplitude scatter log-normal, both common to all waves and to both channels; they draw
 * from the stream 'response/scatter', twice a presentation. Responses that overlap add up.
 */
export function evokedResponse(scenario: Scenario, seed: string): EvokedResponse {
  const { kind, amplitudeScale, latencyJitterMs, amplitudeLogSd } = scenario.response;
  const { sampleRateHz } = scenario.converter;
  const draws = stream(seed, 'response/scatter');
  const stepMs = 1000 / sampleRateHz / OVERSAMPLING;
  const silent = kind === 'none' || amplitudeScale === 0;
  const templates = silent
    ? []
    : ([1, -1] as const).map((polarity) =>
        (['ipsilateral', 'contralateral'] as const).map((channel) =>
          clickAbrTemplate(scenario, polarity, channel, stepMs),
        ),
      );
  let playing: Playing[] = [];

  return {
    present({ sample, polarity }) {
      const shiftMs = latencyJitterMs * nextGaussian(draws);
      const gain = amplitudeScale * nextLogNormal(draws, 1, amplitudeLogSd);
      if (!silent) playing.push({ sample, skip: -shiftMs / stepMs, gain, condensation: polarity === 1 });
    },
    addUv(channelsUv, start, count) {
      for (const { sample, skip, gain, condensation } of playing) {
        const [ipsilateral, contralateral] = templates[condensation ? 0 : 1];
        const last = ipsilateral.length - 2;
        const from = Math.max(start, sample + Math.ceil(-skip / OVERSAMPLING));
        const end = Math.min(start + count, sample + Math.floor((last - skip) / OVERSAMPLING) + 1);
        const [outIpsi, outContra] = channelsUv;
        for (let i = from; i < end; i++) {
          const position = (i - sample) * OVERSAMPLING + skip;
          const point = Math.floor(position);
          const fraction = position - point;
          outIpsi[i - start] += gain * (ipsilateral[point] + fraction * (ipsilateral[point + 1] - ipsilateral[point]));
          outContra[i - start] +=
            gain * (contralateral[point] + fraction * (contralateral[point + 1] - contralateral[point]));
        }
      }
      const templateSamples = silent ? 0 : Math.ceil(templates[0][0].length / OVERSAMPLING) + sampleRateHz / 50;
      if (playing.length > 0) playing = playing.filter(({ sample }) => sample + templateSamples > start + count);
    },
  };
}
