import { readGroups, readHalves, type SweepGroups } from './groupedSweeps.ts';
import { checkWindow } from './residualNoise.ts';

/** What can be said of a response: it is there, it is not, or this recording cannot tell. */
export type Verdict = 'present' | 'absent' | 'cannot-tell';

/** The 3:1 rule applied to one average. */
interface VisualReading {
  verdict: Verdict;
  /** Size of the deflection that was judged, µV. */
  peakToTroughUv: number;
  /** Average gap between the two split buffers, µV. */
  gapUv: number;
}

/** A deflection counts from three times the average gap on: the convention of newborn programmes (B07, B08). */
const VISUAL_RATIO = 3;

/** Average gap up to which a trace may be called absent: 25 nV in newborn programmes for the ABR (B08). */
const ABSENT_GAP_UV = 0.025;

/**
 * Judges a deflection against the gap between two replicates, as a reader with a ruler would.
 *
 *     present:      deflection ≥ 3 × average gap
 *     absent:       not present, and the gap is no wider than 25 nV
 *     cannot tell:  not present, and the gap is wider: the trace is too noisy for an absence
 *
 * For Gaussian noise the gap is 1.5958 times the residual noise (B84), so the rule asks for a deflection of 4.8 times
 * the noise. The largest swing of pure noise often reaches that if it may lie anywhere: judge a deflection where the
 * response is expected.
 *
 * @param peakToTroughUv - size of the deflection, µV   @param gapUv - of `averageGapUv`
 * @param absentGapUv - widest gap of an absence; 0.025 µV is for the ABR
 * @returns 'cannot-tell' where a figure is NaN   @example visualRule(0.2, 0.05, 0.025) // 'present'
 */
export function visualRule(peakToTroughUv: number, gapUv: number, absentGapUv = ABSENT_GAP_UV): Verdict {
  if (!(gapUv >= 0 && peakToTroughUv >= 0)) return 'cannot-tell';
  if (peakToTroughUv > 0 && peakToTroughUv >= VISUAL_RATIO * gapUv) return 'present';
  return gapUv <= absentGapUv ? 'absent' : 'cannot-tell';
}

/**
 * Measures the average gap between two split buffers: mean |A − B| over the window.
 *
 * @returns µV; NaN if a sample is NaN   @throws {RangeError} if the window is empty or outside
 * @example averageGapUv(Float64Array.of(1, 2), Float64Array.of(2, 0), 0, 2) // 1.5
 */
export function averageGapUv(bufferAUv: Float64Array, bufferBUv: Float64Array, from: number, to: number): number {
  checkWindow('averageGapUv', bufferAUv, bufferBUv, from, to);
  let sum = 0;
  for (let i = from; i < to; i++) sum += Math.abs(bufferAUv[i] - bufferBUv[i]);
  return sum / (to - from);
}

/**
 * Finds the largest fall from a peak to a later trough of a trace.
 *
 * @param averageUv - µV   @param reach - largest distance from peak to trough, samples, ≥ 1
 * @returns µV ≥ 0, with the samples of peak and trough; NaN if a sample is NaN
 * @throws {RangeError} if the window is empty or outside
 * @example largestFall(Float64Array.of(0, 3, 1, -1), 0, 4, 2) // { fallUv: 4, peak: 1, trough: 3 }
 */
export function largestFall(averageUv: Float64Array, from: number, to: number, reach: number) {
  checkWindow('largestFall', averageUv, averageUv, from, to);
  let fallUv = 0;
  let peak = from;
  let trough = from;
  for (let i = from; i < to; i++) {
    if (Number.isNaN(averageUv[i])) return { fallUv: NaN, peak: i, trough: i };
    for (let j = i + 1; j < to && j <= i + reach; j++) {
      if (averageUv[i] - averageUv[j] > fallUv) {
        fallUv = averageUv[i] - averageUv[j];
        peak = i;
        trough = j;
      }
    }
  }
  return { fallUv, peak, trough };
}

/** Largest distance from peak to trough that counts as one deflection: a third of the window, our choice. */
export function fallReach(from: number, to: number): number {
  return Math.max(1, Math.floor((to - from) / 3));
}

/**
 * Divides the largest fall of an average by the mean gap of its split buffers: from 3 on the rule says present.
 *
 * @returns ratio; NaN if a sample is NaN or the buffers are equal   @throws {RangeError} if the window is empty or outside
 */
export function fallOverGap(
  averageUv: Float64Array,
  bufferAUv: Float64Array,
  bufferBUv: Float64Array,
  from: number,
  to: number,
  reach: number,
): number {
  const gapUv = averageGapUv(bufferAUv, bufferBUv, from, to);
  return gapUv > 0 ? largestFall(averageUv, from, to, reach).fallUv / gapUv : NaN;
}

/** Makes the statistic `fallOverGap` of sweep groups, for `signFlipTest`: even groups against odd ones. */
export function fallOverGapOfGroups(pointCount: number): (groups: SweepGroups) => number {
  const averageUv = new Float64Array(pointCount);
  const halves = [new Float64Array(pointCount), new Float64Array(pointCount)];
  const reach = fallReach(0, pointCount);
  return (groups) => {
    readGroups(groups, averageUv);
    readHalves(groups, halves);
    return fallOverGap(averageUv, halves[0], halves[1], 0, pointCount, reach);
  };
}

/**
 * Applies the 3:1 rule to the largest fall of an average within the window.
 *
 * @param averageUv - the average   @param reach - largest distance from peak to trough, samples
 * @throws {RangeError} if the window is empty or outside
 */
export function visualReading(
  averageUv: Float64Array,
  bufferAUv: Float64Array,
  bufferBUv: Float64Array,
  from: number,
  to: number,
  reach: number,
  absentGapUv = ABSENT_GAP_UV,
): VisualReading {
  const { fallUv } = largestFall(averageUv, from, to, reach);
  const gapUv = averageGapUv(bufferAUv, bufferBUv, from, to);
  return { verdict: visualRule(fallUv, gapUv, absentGapUv), peakToTroughUv: fallUv, gapUv };
}
