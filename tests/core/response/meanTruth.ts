import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { startSession } from '../../../src/core/session/session.ts';

/** What a listener could at best see: the mean of the noise-free responses of a session, through its own chain. */
export interface MeanTruth {
  /** Times after the stimulus, ms. */
  timesMs: Float64Array;
  /** Per channel, µV. */
  truthUv: Float64Array[];
  /** Mean of what was recorded, per channel, µV. */
  recordedUv: Float64Array[];
}

/** Runs a session and averages its truth. Sweeps of one polarity alone if asked for. */
export function meanTruth(document: object, seed = '1', polarity: 1 | -1 | 0 = 0): MeanTruth {
  const scenario = resolveScenario(document);
  const session = startSession(scenario, seed);
  const sums = () => [0, 1].map(() => new Float64Array(session.samplesPerSweep));
  const truthUv = sums();
  const recordedUv = sums();
  let count = 0;
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
    if (polarity !== 0 && sweep.polarity !== polarity) continue;
    count++;
    for (let c = 0; c < 2; c++) {
      for (let i = 0; i < session.samplesPerSweep; i++) {
        truthUv[c][i] += sweep.truthUv[c][i];
        recordedUv[c][i] += sweep.recordedUv[c][i];
      }
    }
  }
  for (const trace of [...truthUv, ...recordedUv]) for (let i = 0; i < trace.length; i++) trace[i] /= count;
  const { window, converter } = scenario;
  const preSamples = Math.round((window.preMs * converter.sampleRateHz) / 1000);
  const timesMs = Float64Array.from(truthUv[0], (_, i) => ((i - preSamples) * 1000) / converter.sampleRateHz);
  return { timesMs, truthUv, recordedUv };
}

/** Largest (sign 1) or most negative (sign −1) point between two times: where, by a parabola, and how large. */
export function peak(
  timesMs: ArrayLike<number>,
  traceUv: ArrayLike<number>,
  sign: 1 | -1,
  fromMs: number,
  toMs: number,
): { ms: number; uv: number } {
  let best = -1;
  for (let i = 1; i < traceUv.length - 1; i++) {
    if (timesMs[i] < fromMs || timesMs[i] > toMs) continue;
    if (best < 0 || sign * traceUv[i] > sign * traceUv[best]) best = i;
  }
  const [before, now, after] = [traceUv[best - 1], traceUv[best], traceUv[best + 1]];
  const curve = before - 2 * now + after;
  const offset = curve === 0 ? 0 : Math.max(-0.5, Math.min(0.5, (before - after) / (2 * curve)));
  return { ms: timesMs[best] + offset * (timesMs[1] - timesMs[0]), uv: now - 0.25 * (before - after) * offset };
}

/** A recording chain and a patient without anything but the response. */
export const QUIET = {
  eeg: { slowUv: 0, floorNvPerRtHz: 0 },
  mains: { fundamentalUv: 0 },
  drift: { walkUvPerRtS: 0 },
  amplifier: { noiseNvPerRtHz: 0 },
};
