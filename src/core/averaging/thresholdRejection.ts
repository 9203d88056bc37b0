import { type Static, Type } from '@sinclair/typebox';
import { quantity } from '../scenario/quantity.ts';
import { ownNoiseOfMeanUv } from './plainMean.ts';
import { type AveragingStrategy, belongsToA, meanSquareUv2, type WeightReason } from './strategy.ts';
import { weightedPair } from './weightedPair.ts';

export const thresholdRejectionParameters = Type.Object(
  {
    thresholdUv: quantity('µV', 20, 0.1, 100000, 'a sweep with any sample at or beyond ± this is thrown away'),
    skipMs: quantity('ms', 1, 0, 100, 'so long after the stimulus nothing is judged: stimulus artefact'),
  },
  { description: 'threshold rejection', additionalProperties: false },
);

/**
 * Threshold rejection: a sweep counts fully, or not at all.
 *
 *     accept x[k] if max over t of |x[k](t)| < θ;   estimate = mean of the accepted
 *
 * A tight θ keeps the sweeps whose noise opposes the response, so the response shrinks. A θ at or above the range of
 * the amplifier never fires. A rejected sweep still costs its time.
 */
export const thresholdRejection: AveragingStrategy<Static<typeof thresholdRejectionParameters>> = {
  id: 'threshold-rejection',
  scenarioKey: 'thresholdRejection',
  label: 'Threshold rejection',
  summary: 'A sweep that exceeds a limit anywhere is thrown away; the rest count the same.',
  parameters: thresholdRejectionParameters,
  timing: 'online',
  signFree: true,
  create(context, { thresholdUv, skipMs }, listener) {
    if (!(thresholdUv > 0)) throw new RangeError(`thresholdRejection: thresholdUv must be > 0, got ${thresholdUv}`);
    const { samplesPerSweep, preSampleCount, analysisFrom, analysisTo, respectFlags } = context;
    const skipTo = Math.min(samplesPerSweep, preSampleCount + Math.round((skipMs * context.sampleRateHz) / 1000));
    const pair = weightedPair(samplesPerSweep);
    const estimateUv = new Float64Array(samplesPerSweep);
    const verdict = {
      index: 0,
      weight: 0,
      fade: 1,
      reason: 'taken' as WeightReason,
      measureUv: 0,
      limitUv: thresholdUv,
    };
    let powerSumUv2 = 0;
    return {
      add(sweepUv, meta) {
        const peakUv = Math.max(peakWithin(sweepUv, 0, preSampleCount), peakWithin(sweepUv, skipTo, samplesPerSweep));
        const flagged = respectFlags && meta.overRange;
        const accepted = !flagged && peakUv < thresholdUv;
        if (accepted) {
          pair.add(sweepUv, 1, belongsToA(meta.index));
          powerSumUv2 += meanSquareUv2(sweepUv, analysisFrom, analysisTo);
        }
        verdict.index = meta.index;
        verdict.weight = accepted ? 1 : 0;
        verdict.reason = flagged ? 'flagged' : accepted ? 'taken' : 'rejected';
        verdict.measureUv = peakUv;
        listener(verdict);
      },
      read: pair.read,
      readPair: pair.readPair,
      ownNoiseUv() {
        const n = pair.usedCount();
        if (n < 2) return NaN;
        pair.read(estimateUv);
        return ownNoiseOfMeanUv(powerSumUv2, meanSquareUv2(estimateUv, analysisFrom, analysisTo), n);
      },
      usedCount: pair.usedCount,
      effectiveCount: pair.effectiveCount,
    };
  },
  explain({ reason, measureUv, limitUv }) {
    if (reason === 'flagged') return 'Left out: the converter was over-range in or just before this sweep.';
    const peak = `its largest sample is ${measureUv.toFixed(1)} µV`;
    return reason === 'rejected'
      ? `Thrown away: ${peak}, at or over the limit of ${limitUv} µV.`
      : `Counted in full: ${peak}, under the limit of ${limitUv} µV.`;
  },
};

/** Largest size of samples [from, to), in four strands that do not wait for each other: 170 against 290 ns a sweep. */
export function peakWithin(sweepUv: Float64Array, from: number, to: number): number {
  let peak0 = 0;
  let peak1 = 0;
  let peak2 = 0;
  let peak3 = 0;
  let i = from;
  for (; i + 3 < to; i += 4) {
    const size0 = Math.abs(sweepUv[i]);
    const size1 = Math.abs(sweepUv[i + 1]);
    const size2 = Math.abs(sweepUv[i + 2]);
    const size3 = Math.abs(sweepUv[i + 3]);
    if (size0 > peak0) peak0 = size0;
    if (size1 > peak1) peak1 = size1;
    if (size2 > peak2) peak2 = size2;
    if (size3 > peak3) peak3 = size3;
  }
  for (; i < to; i++) {
    const size = Math.abs(sweepUv[i]);
    if (size > peak0) peak0 = size;
  }
  return Math.max(peak0, peak1, peak2, peak3);
}
