import { nextGaussian, nextLogNormal, stream } from '../random/stream.ts';
import type { Scenario } from '../scenario/schema.ts';
import type { Presentation } from '../stimulus/schedule.ts';
import type { EvokedResponse } from './responseKind.ts';
import { trajectory } from './trajectory.ts';

/** Where a response is seen from: the two channels of a recording. */
export type Channel = 'ipsilateral' | 'contralateral';

/** What a response looks like, and what may change it from one presentation to the next. */
export interface ResponseShape {
  /** Time after the stimulus at which the response is over, ms. */
  endMs: number;
  /** Returns the response of one polarity in one channel as a function of the time after the stimulus: ms → µV. */
  curve(polarity: 1 | -1, channel: Channel): (timeMs: number) => number;
  /** Standard deviation of the latency that comes on top of `response.latencyJitterMs`, ms. */
  extraJitterMs?: number;
  /** What moves this part of a response against its other parts: draws of its own, by index. */
  ownJitter?: { index: number; sdMs: number };
  /** Size of one answer, for what depends on time: gaze, recovery. Called once for each presentation, in order. */
  sizeOf?(presentation: Presentation): number;
}

const OVERSAMPLING = 16; // template points per sample: linear interpolation errs by less than 10^−4 of the peak
const EARLIEST_MS = 20; // no jitter or trajectory moves a response further than this, earlier or later

interface Playing {
  sample: number; // of the stimulus
  skip: number; // template points between stimulus and first sample, fractional, because of latency jitter
  gain: number;
  condensation: boolean;
}

/**
 * Plays a response from templates, one for each polarity and channel, moved and scaled from sweep to sweep.
 *
 * Latency jitter is normal, amplitude scatter log-normal, both common to all waves and to both channels; they draw
 * from the stream 'response/scatter', twice a presentation. A part with a jitter of its own draws it from 'response/wave'. The trajectory of the scenario moves all waves alike.
 * Responses that overlap add up.
 */
export function templateResponse(scenario: Scenario, seed: string, shape: ResponseShape): EvokedResponse {
  const { amplitudeScale, latencyJitterMs, amplitudeLogSd } = scenario.response;
  const { sampleRateHz } = scenario.converter;
  const { endMs, extraJitterMs = 0, ownJitter, sizeOf = () => 1 } = shape;
  const draws = stream(seed, 'response/scatter');
  const ownDraws = ownJitter ? stream(seed, 'response/wave', ownJitter.index) : null;
  const stepMs = 1000 / sampleRateHz / OVERSAMPLING;
  const jitterMs =
    extraJitterMs > 0 ? Math.sqrt(latencyJitterMs * latencyJitterMs + extraJitterMs * extraJitterMs) : latencyJitterMs;
  const displacement = trajectory(scenario);
  const silent = amplitudeScale === 0;
  const templates = ([1, -1] as const).map((polarity) =>
    (['ipsilateral', 'contralateral'] as const).map((channel) =>
      byPhase(tabulate(silent ? () => 0 : shape.curve(polarity, channel), endMs, stepMs)),
    ),
  );
  let playing: Playing[] = [];
  const shares = new Float64Array(2); // in a typed array, so that the loop has them unboxed

  return {
    present(presentation) {
      const { sample, polarity } = presentation;
      const moved = displacement(sample);
      const commonMs = jitterMs * nextGaussian(draws) + moved.latencyMs;
      const shiftMs = ownJitter && ownDraws ? commonMs + ownJitter.sdMs * nextGaussian(ownDraws) : commonMs;
      const gain =
        amplitudeScale * nextLogNormal(draws, 1, amplitudeLogSd) * moved.amplitudeFactor * sizeOf(presentation);
      if (gain === 0) return;
      const skip = -Math.min(EARLIEST_MS, Math.max(-EARLIEST_MS, shiftMs)) / stepMs;
      playing.push({ sample, skip, gain, condensation: polarity === 1 });
    },
    addUv(channelsUv, start, count) {
      for (const { sample, skip, gain, condensation } of playing) {
        const [ipsilateral, contralateral] = templates[condensation ? 0 : 1];
        const last = ipsilateral[0].length * OVERSAMPLING - 2;
        const from = Math.max(start, sample + Math.ceil(-skip / OVERSAMPLING));
        const end = Math.min(start + count, sample + Math.floor((last - skip) / OVERSAMPLING) + 1);
        const firstPoint = (from - sample) * OVERSAMPLING + Math.floor(skip);
        // Between two points of the template, at the same place all along.
        shares[0] = gain * (1 - (skip - Math.floor(skip)));
        shares[1] = gain * (skip - Math.floor(skip));
        const phase = firstPoint % OVERSAMPLING;
        const first = (firstPoint - phase) / OVERSAMPLING;
        const nextPhase = (phase + 1) % OVERSAMPLING;
        const nextFirst = nextPhase === 0 ? first + 1 : first;
        for (const [c, template] of [ipsilateral, contralateral].entries()) {
          const here = template[phase].subarray(first);
          const next = template[nextPhase].subarray(nextFirst);
          addInterpolated(here, next, shares, channelsUv[c], from - start, end - start);
        }
      }
      const templateSamples = templates[0][0][0].length + (EARLIEST_MS * sampleRateHz) / 1000;
      if (playing.length > 0) playing = playing.filter(({ sample }) => sample + templateSamples > start + count);
    },
  };
}

/** Deals the points of a template out to OVERSAMPLING rows: what one presentation needs then lies side by side. */
function byPhase(template: Float64Array): Float64Array[] {
  const length = Math.ceil((template.length + 1) / OVERSAMPLING);
  return Array.from({ length: OVERSAMPLING }, (_, phase) =>
    Float64Array.from({ length }, (_, i) => template[i * OVERSAMPLING + phase] ?? 0),
  );
}

/** Adds to samples [from, to) each point from the first on, and its neighbour, in two shares. */
function addInterpolated(
  points: Float64Array,
  neighbours: Float64Array,
  shares: Float64Array,
  out: Float64Array,
  from: number,
  to: number,
): void {
  const here = shares[0];
  const next = shares[1];
  for (let i = from, k = 0; i < to; i++, k++) out[i] += here * points[k] + next * neighbours[k];
}

/** Tabulates a curve from the stimulus to its end, µV. */
export function tabulate(curve: (timeMs: number) => number, endMs: number, stepMs: number): Float64Array {
  const template = new Float64Array(Math.ceil(endMs / stepMs) + 1);
  for (let i = 0; i < template.length; i++) template[i] = curve(i * stepMs);
  return template;
}
