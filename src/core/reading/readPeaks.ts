import type { NoiseShape } from './noiseShape.ts';
import { parabola } from './parabola.ts';
import type { PeakRule, PeakRules } from './peakRules.ts';

/** What the reading of a trace needs to know of its time axis. */
export interface TimeAxis {
  sampleRateHz: number;
  /** Samples before the stimulus: sample `preSampleCount` is at 0 ms. */
  preSampleCount: number;
}

/** One marked peak. Standard deviations are those that the noise of the average gives. */
export interface ReadPeak {
  name: string;
  latencyMs: number;
  latencySdMs: number;
  /** From the zero line, signed, µV. */
  amplitudeUv: number;
  amplitudeSdUv: number;
  /** From the peak to the trough that follows, ≥ 0, µV. */
  toTroughUv: number;
  toTroughSdUv: number;
  troughMs: number;
  /** True if the fall to the trough is at least three times its noise: else it may be no peak at all. */
  clear: boolean;
}

const CLEAR_FROM = 3; // × the noise of the fall, our choice

/**
 * Marks the peaks of a trace by rule: the local maximum with the deepest fall behind it, refined by a parabola.
 *
 *     latency = t − slope/curvature
 *     σ_latency = rms shift when the average is read again under 40 examples of its own noise
 *
 * The textbook σ = (noise of the slope)/|curvature| is too small by a third for wave V: its top, fused with wave IV, is no
 * parabola, and noise picks out sharp maxima. Where a peak is lost under an example it counts as moved by half its window.
 * The σ holds for clear peaks; one that is not clear may be no peak at all. A peak whose window holds no local maximum is
 * left out.
 *
 * @param traceUv - an average, or the truth with `NO_NOISE`, µV
 * @returns the peaks in order of latency
 */
export function readPeaks(traceUv: Float64Array, axis: TimeAxis, noise: NoiseShape, rules: PeakRules): ReadPeak[] {
  const half = Math.max(1, Math.round((rules.halfMs * axis.sampleRateHz) / 1000));
  const marks = markPeaks(traceUv, axis, rules, half);
  const again = noise.examplesUv.map((exampleUv) =>
    markPeaks(
      traceUv.map((value, i) => value + exampleUv[i]),
      axis,
      rules,
      half,
    ),
  );
  const perMs = axis.sampleRateHz / 1000;
  const peaks = rules.peaks.flatMap(({ name, fromMs, toMs }) => {
    const mark = marks.get(name);
    if (!mark) return [];
    let squares = 0;
    for (const other of again) {
      const moved = other.get(name);
      const shiftMs = moved ? moved.latencyMs - mark.latencyMs : (toMs - fromMs) / 2;
      squares += shiftMs * shiftMs;
    }
    const toTroughSdUv = noise.differenceUv(half, mark.troughSample - mark.sample);
    return {
      name,
      latencyMs: mark.latencyMs,
      latencySdMs: again.length > 0 ? Math.sqrt(squares / again.length) : 0,
      amplitudeUv: mark.amplitudeUv,
      amplitudeSdUv: noise.valueUv(half),
      toTroughUv: mark.toTroughUv,
      toTroughSdUv,
      troughMs: (mark.troughSample - axis.preSampleCount) / perMs,
      clear: mark.toTroughUv >= CLEAR_FROM * toTroughSdUv,
    };
  });
  return peaks.sort((a, b) => a.latencyMs - b.latencyMs);
}

/** A peak where it was marked, without uncertainty. */
interface Mark {
  sample: number;
  troughSample: number;
  latencyMs: number;
  amplitudeUv: number;
  toTroughUv: number;
}

function markPeaks(traceUv: Float64Array, axis: TimeAxis, rules: PeakRules, half: number): Map<string, Mark> {
  const smoothUv = smoothed(traceUv, half, axis.sampleRateHz);
  const marks = new Map<string, Mark>();
  for (const rule of rules.peaks) {
    const originMs = rule.relativeTo === undefined ? 0 : marks.get(rule.relativeTo)?.latencyMs;
    if (originMs === undefined) continue; // the peak that shows where to look is not there
    const mark = markPeak(traceUv, smoothUv, axis, rule, originMs, half);
    if (mark) marks.set(rule.name, mark);
  }
  return marks;
}

function smoothed(traceUv: Float64Array, half: number, sampleRateHz: number): Float64Array {
  return traceUv.map((_, i) => parabola(traceUv, i, half, sampleRateHz).valueUv);
}

function markPeak(
  traceUv: Float64Array,
  smoothUv: Float64Array,
  axis: TimeAxis,
  { sign, fromMs, toMs, troughMs }: PeakRule,
  originMs: number,
  half: number,
): Mark | null {
  const perMs = axis.sampleRateHz / 1000;
  const sampleAt = (timeMs: number) => axis.preSampleCount + timeMs * perMs;
  const first = Math.max(half + 1, Math.ceil(sampleAt(originMs + fromMs)));
  const last = Math.min(traceUv.length - half - 2, Math.floor(sampleAt(originMs + toMs)));
  const reach = Math.round(troughMs * perMs);
  let best = -1;
  let bestTrough = -1;
  let bestFallUv = 0;
  for (let i = first; i <= last; i++) {
    const value = sign * smoothUv[i];
    if (!(value >= sign * smoothUv[i - 1] && value > sign * smoothUv[i + 1])) continue;
    const trough = lowest(smoothUv, sign, i, Math.min(traceUv.length - half - 1, i + reach));
    const fallUv = value - sign * smoothUv[trough];
    if (fallUv > bestFallUv) {
      best = i;
      bestTrough = trough;
      bestFallUv = fallUv;
    }
  }
  if (best < 0) return null;
  const fit = parabola(traceUv, best, half, axis.sampleRateHz);
  // The vertex lies within a sample of the highest smoothed one; noise may put it elsewhere.
  const vertexMs = -fit.slopeUvPerMs / fit.curvatureUvPerMs2;
  const shiftMs = Number.isFinite(vertexMs) ? Math.min(1 / perMs, Math.max(-1 / perMs, vertexMs)) : 0;
  return {
    sample: best,
    troughSample: bestTrough,
    latencyMs: (best - axis.preSampleCount) / perMs + shiftMs,
    amplitudeUv: fit.valueUv + fit.slopeUvPerMs * shiftMs + 0.5 * fit.curvatureUvPerMs2 * shiftMs * shiftMs,
    toTroughUv: bestFallUv,
  };
}

/** Sample of the lowest value (the highest for sign −1) from `from` to `to`, both included. */
function lowest(valuesUv: Float64Array, sign: 1 | -1, from: number, to: number): number {
  let at = from;
  for (let i = from + 1; i <= to; i++) if (sign * valuesUv[i] < sign * valuesUv[at]) at = i;
  return at;
}
