import { cosineOfCycles, PI, sineOfCycles } from '../elementary.ts';
import { CHANNEL_COUNT, type PlayingNoise } from '../noise/noiseSource.ts';
import { nextUniform, stream } from '../random/stream.ts';
import type { Scenario } from '../scenario/schema.ts';
import { beatS, LEAD_IN_S, presentationCount } from '../stimulus/schedule.ts';

/** One channel of a real recording, used as the noise of a session. */
export interface RecordedBackground {
  samplesUv: Float64Array;
  sampleRateHz: number;
  /** Stretches that were not recorded: no session may touch them. */
  missing?: readonly { startS: number; endS: number }[];
}

const HALF_TAPS = 16; // input samples on each side
const PHASES = 512; // table entries per input sample; straight lines between them are 10⁻⁶ off
const ATTEMPTS = 1000;

/**
 * Implants a session into real background: the noise is a stretch of a recording, the response stays the known one.
 *
 *     x(t) = Σ_j recorded[j] · h(t·f_rec − j),   h(u) = c·sinc(c·u)·(½ + ½cos(πcu/16)),   c = min(1, f/f_rec)
 *
 * Where the stretch begins is drawn from the seed (stream 'background/place'), so each replicate gets its own, and
 * stretches of replicates may overlap. The recording has passed an amplifier already: give it to `startSession`, which
 * then sends response and background through the linear part of the chain only. Its mean is taken off. What lies above
 * half the recording's own sampling rate is not there: choose the band of the scenario within it. Responses to the
 * recording's own stimuli stay in it and average out, since their instants have nothing to do with ours.
 *
 * @param recordings - one or more; a session lies within one of them
 * @throws {RangeError} if no recording holds the whole session without a gap, or a sample is no number
 */
export function backgroundNoise(
  recordings: readonly RecordedBackground[],
  scenario: Scenario,
  seed: string,
): PlayingNoise {
  const { sampleRateHz } = scenario.converter;
  const lengthS = LEAD_IN_S + beatS(scenario, presentationCount(scenario) - 1) + 0.001 * sessionTailMs(scenario);
  const { recording, fromS } = placeOf(recordings, lengthS, seed);
  const length = Math.ceil(lengthS * sampleRateHz);
  const soundUv = resampled(recording, fromS, sampleRateHz, length);
  let sum = 0;
  for (let i = 0; i < length; i++) sum += soundUv[i];
  const mean = sum / length;
  if (!(mean > -Infinity && mean < Infinity)) {
    throw new RangeError(`backgroundNoise: samples must be numbers, got a mean of ${mean} µV`);
  }
  for (let i = 0; i < length; i++) soundUv[i] -= mean;
  return {
    addUv(channelsUv, start, count) {
      const end = Math.min(count, length - start);
      for (let c = 0; c < CHANNEL_COUNT; c++) {
        const channelUv = channelsUv[c];
        for (let i = 0; i < end; i++) channelUv[i] += soundUv[start + i];
      }
    },
  };
}

/** From the last beat to the last sample that is cut, and a second for filters that look ahead. */
function sessionTailMs({ window, stimulus }: Scenario): number {
  return window.postMs + stimulus.jitterMs + 1000;
}

/** Draws a place for the session, evenly over all places where it fits. */
function placeOf(recordings: readonly RecordedBackground[], lengthS: number, seed: string) {
  const rooms = recordings.map(({ samplesUv, sampleRateHz }) =>
    Math.max(0, (samplesUv.length - 1) / sampleRateHz - lengthS),
  );
  const total = rooms.reduce((sum, room) => sum + room, 0);
  const draws = stream(seed, 'background/place');
  for (let attempt = 0; attempt < ATTEMPTS && total > 0; attempt++) {
    let at = nextUniform(draws) * total;
    let k = 0;
    while (k + 1 < rooms.length && at >= rooms[k]) at -= rooms[k++];
    const fromS = Math.min(at, rooms[k]);
    const { missing = [] } = recordings[k];
    if (missing.every(({ startS, endS }) => fromS + lengthS < startS || fromS > endS)) {
      return { recording: recordings[k], fromS };
    }
  }
  const longestS = Math.max(0, ...recordings.map(({ samplesUv, sampleRateHz }) => samplesUv.length / sampleRateHz));
  const rule = `a recording must hold the whole session (${lengthS.toFixed(1)} s) without a gap`;
  throw new RangeError(`backgroundNoise: ${rule}, got ${longestS.toFixed(1)} s at most; shorten session.durationS`);
}

function resampled(
  { samplesUv, sampleRateHz }: RecordedBackground,
  fromS: number,
  rateHz: number,
  length: number,
): Float64Array {
  const cut = Math.min(1, rateHz / sampleRateHz);
  const reach = Math.ceil(HALF_TAPS / cut);
  const kernel = kernelTable(cut, reach);
  const out = new Float64Array(length);
  for (let i = 0; i < length; i++) {
    const at = (fromS + i / rateHz) * sampleRateHz;
    const centre = Math.floor(at);
    const first = Math.max(0, centre - reach + 1);
    const last = Math.min(samplesUv.length - 1, centre + reach);
    let sum = 0;
    for (let j = first; j <= last; j++) {
      const place = (at - j + reach) * PHASES;
      const entry = Math.floor(place);
      const share = place - entry;
      sum += samplesUv[j] * (kernel[entry] + share * (kernel[entry + 1] - kernel[entry]));
    }
    out[i] = sum;
  }
  return out;
}

/** h(u) for −reach ≤ u ≤ reach, `PHASES` entries per input sample. */
function kernelTable(cut: number, reach: number): Float64Array {
  return Float64Array.from({ length: 2 * reach * PHASES + 2 }, (_, k) => {
    const u = k / PHASES - reach;
    if (Math.abs(u * cut) >= HALF_TAPS) return 0;
    const sinc = u === 0 ? cut : sineOfCycles((cut * u) / 2) / (PI * u);
    return sinc * (0.5 + 0.5 * cosineOfCycles((cut * u) / (2 * HALF_TAPS)));
  });
}
