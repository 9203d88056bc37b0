import { type Figure, ratioFigure } from './figure.ts';
import type { NoiseShape } from './noiseShape.ts';
import { parabola } from './parabola.ts';
import { type ReadPeak, readPeaks, type TimeAxis } from './readPeaks.ts';

/** What is marked on an electrocochleogram, with the figures made of it. Sizes are downwards from the baseline, µV. */
export interface CochlearReading {
  peaks: ReadPeak[];
  figures: Figure[];
  /** The areas behind the figures, for pictures; empty where there are no figures. */
  areas: CochlearArea[];
}

/** A stretch of a trace down from a level: what an area is made of. */
interface CochlearArea {
  name: 'SP' | 'AP from the baseline' | 'AP from its own start';
  fromMs: number;
  toMs: number;
  /** The level it hangs from, µV, on the trace as it was given. */
  levelUv: number;
}

const N1 = { halfMs: 0.06, peaks: [{ name: 'N1', sign: -1, fromMs: 1, toMs: 3.5, troughMs: 1.2 }] } as const;
const BASELINE_MS = 1; // ms before the stimulus, mean of which is the baseline
const SHOULDER_FROM_MS = 0.6; // ms: the summating potential has begun
const SHOULDER_BEFORE_N1_MS = 0.3; // ms: from here on the flank of N1 is too steep to hold a shoulder

/**
 * Reads SP/AP by amplitude and by two areas.
 *
 * Baseline: mean of the last 1 ms before the stimulus. AP: N1. SP: the shoulder before N1, where the trace falls least.
 *
 *     by amplitude:              SP/AP, both from the baseline
 *     by area from the baseline: SP from its onset to the return to the baseline, AP from the shoulder to the first return
 *                                to the level of the shoulder, both down to the baseline
 *     by area from its own start: the same SP, AP only what lies below the level of the shoulder
 *
 * Clinics do not agree on the area; the two differ by a factor, so a limit belongs to its definition. The SP area holds
 * the AP that rides on it. The σ of an area counts noise as alike within 0.3 ms and
 * independent beyond (our choice). The shoulder has a bias of its own: N1 has begun where it is read.
 *
 * @returns no figure if N1 or a shoulder before it is not there
 */
export function readCochlear(traceUv: Float64Array, axis: TimeAxis, noise: NoiseShape): CochlearReading {
  const perMs = axis.sampleRateHz / 1000;
  const baselineUv = baseline(traceUv, axis);
  const fromBaselineUv = traceUv.map((value) => value - baselineUv);
  const peaks = readPeaks(fromBaselineUv, axis, noise, N1);
  const [n1] = peaks;
  const half = Math.max(1, Math.round(N1.halfMs * perMs));
  const shoulder = n1 ? findShoulder(fromBaselineUv, axis, n1.latencyMs, half) : null;
  if (!n1 || shoulder === null) return { peaks, figures: [], areas: [] };

  const depthUv = fromBaselineUv.map((value) => -value);
  const shoulderUv = parabola(depthUv, shoulder, half, axis.sampleRateHz).valueUv;
  const pointSdUv = noise.valueUv(half);
  // The baseline is a mean over 1 ms of noise: its own error is in both sizes, and small beside that of a point.
  const n1Sample = axis.preSampleCount + n1.latencyMs * perMs;
  const apEnd = firstReturn(depthUv, Math.round(n1Sample), shoulderUv);
  const onset = lastBelow(depthUv, shoulder, 0.1 * shoulderUv);
  const spEnd = firstReturn(depthUv, Math.round(n1Sample), 0);
  const area = (from: number, to: number, levelUv: number) => {
    let sum = 0;
    for (let i = from; i < to; i++) sum += (depthUv[i] - levelUv) / perMs;
    return sum;
  };
  const areaSd = (from: number, to: number) => pointSdUv * Math.sqrt(((to - from) / perMs) * 0.3);
  const sp: ReadPeak = {
    name: 'SP',
    latencyMs: (shoulder - axis.preSampleCount) / perMs,
    latencySdMs: NaN, // a shoulder has no vertex
    amplitudeUv: -shoulderUv,
    amplitudeSdUv: pointSdUv,
    toTroughUv: NaN,
    toTroughSdUv: NaN,
    troughMs: NaN,
    clear: shoulderUv >= 2 * pointSdUv,
  };
  const spArea = area(onset, spEnd, 0);
  const spAreaSd = areaSd(onset, spEnd);
  const ms = (sample: number) => (sample - axis.preSampleCount) / perMs;
  return {
    peaks: [sp, n1],
    areas: [
      { name: 'SP', fromMs: ms(onset), toMs: ms(spEnd), levelUv: baselineUv },
      { name: 'AP from the baseline', fromMs: ms(shoulder), toMs: ms(apEnd), levelUv: baselineUv },
      { name: 'AP from its own start', fromMs: ms(shoulder), toMs: ms(apEnd), levelUv: baselineUv - shoulderUv },
    ],
    figures: [
      ratioFigure('SP/AP by amplitude', shoulderUv, pointSdUv, -n1.amplitudeUv, pointSdUv),
      ratioFigure(
        'SP/AP by area from the baseline',
        spArea,
        spAreaSd,
        area(shoulder, apEnd, 0),
        areaSd(shoulder, apEnd),
      ),
      ratioFigure(
        'SP/AP by area from its own start',
        spArea,
        spAreaSd,
        area(shoulder, apEnd, shoulderUv),
        areaSd(shoulder, apEnd),
      ),
    ],
  };
}

function baseline(traceUv: Float64Array, { sampleRateHz, preSampleCount }: TimeAxis): number {
  const count = Math.min(preSampleCount, Math.round((BASELINE_MS * sampleRateHz) / 1000));
  let sum = 0;
  for (let i = preSampleCount - count; i < preSampleCount; i++) sum += traceUv[i];
  return count > 0 ? sum / count : 0;
}

/** The sample between onset and N1 where the trace falls least; null if the window is empty. */
function findShoulder(traceUv: Float64Array, axis: TimeAxis, n1Ms: number, half: number): number | null {
  const perMs = axis.sampleRateHz / 1000;
  const first = Math.ceil(axis.preSampleCount + SHOULDER_FROM_MS * perMs);
  const last = Math.floor(axis.preSampleCount + (n1Ms - SHOULDER_BEFORE_N1_MS) * perMs);
  // The steepest fall of the summating potential itself: the shoulder comes after it.
  let steepest = first;
  let least = -1;
  const slope = (i: number) => parabola(traceUv, i, half, axis.sampleRateHz).slopeUvPerMs;
  for (let i = first; i <= Math.min(last, first + 0.4 * perMs); i++) if (slope(i) < slope(steepest)) steepest = i;
  for (let i = steepest; i <= last; i++) if (least < 0 || slope(i) > slope(least)) least = i;
  return least < 0 ? null : least;
}

/** First sample from `from` on at which the depth is back at the level; the end of the trace if it never is. */
function firstReturn(depthUv: Float64Array, from: number, levelUv: number): number {
  for (let i = from; i < depthUv.length; i++) if (!(depthUv[i] > levelUv)) return i;
  return depthUv.length;
}

/** First sample of the stretch before `to` that lies deeper than the level throughout. */
function lastBelow(depthUv: Float64Array, to: number, levelUv: number): number {
  let i = to;
  while (i > 0 && depthUv[i - 1] > levelUv) i--;
  return i;
}
