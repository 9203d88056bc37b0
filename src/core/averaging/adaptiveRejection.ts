import { type Static, Type } from '@sinclair/typebox';
import { quantity, wholeNumber } from '../scenario/quantity.ts';
import { ownNoiseOfMeanUv } from './plainMean.ts';
import { recentQuantile } from './recentQuantile.ts';
import { type AveragingStrategy, belongsToA, meanSquareUv2 } from './strategy.ts';
import { peakWithin } from './thresholdRejection.ts';
import { FLAGGED_SENTENCE, verdictTeller } from './verdictTeller.ts';
import { weightedPair } from './weightedPair.ts';

export const adaptiveRejectionParameters = Type.Object(
  {
    factor: quantity('×', 2, 0.1, 100, 'the limit is so many times the reference peak'),
    quantile: quantity('', 0.5, 0, 1, 'which of the recent peaks is the reference: 0.5 = the median'),
    memorySweeps: wholeNumber('sweeps', 200, 20, 10000, 'how many recent sweeps the limit is learnt from'),
    floorUv: quantity('µV', 1, 0, 100000, 'the limit is never lower'),
    ceilingUv: quantity('µV', 30, 0.1, 100000, 'the limit is never higher; it is this until 20 sweeps are known'),
    acceptedOnly: wholeNumber('', 0, 0, 1, '1 = learn from accepted sweeps only: the limit then ratchets down'),
    skipMs: quantity('ms', 1, 0, 100, 'so long after the stimulus nothing is judged: stimulus artefact'),
  },
  { description: 'rejection by a limit that follows the recent peaks', additionalProperties: false },
);

const LEARNT_FROM = 20; // sweeps, our choice: fewer give no quantile worth the name

/**
 * Rejection by a limit of its own making: a multiple of a quantile of the recent peaks.
 *
 *     θ[k] = factor · quantile of the last M peaks, within floor and ceiling;   accept x[k] if its peak < θ[k]
 *
 * The limit is fixed before the sweep that it judges. It chases the state in which the patient mostly is: where most
 * sweeps are noisy it rises until it takes everything. The ceiling cures most of that. Learning from accepted sweeps
 * only makes it ratchet down instead.
 */
export const adaptiveRejection: AveragingStrategy<Static<typeof adaptiveRejectionParameters>> = {
  id: 'adaptive-rejection',
  scenarioKey: 'adaptiveRejection',
  label: 'Adaptive rejection',
  summary: 'A sweep much larger than the recent ones is thrown away; the rest count the same.',
  parameters: adaptiveRejectionParameters,
  timing: 'online',
  signFree: true,
  create(context, { factor, quantile, memorySweeps, floorUv, ceilingUv, acceptedOnly, skipMs }, listener) {
    if (!(ceilingUv >= floorUv)) {
      throw new RangeError(`adaptiveRejection: ceilingUv must be >= floorUv (${floorUv}), got ${ceilingUv}`);
    }
    const { samplesPerSweep, preSampleCount, analysisFrom, analysisTo, respectFlags } = context;
    const skipTo = Math.min(samplesPerSweep, preSampleCount + Math.round((skipMs * context.sampleRateHz) / 1000));
    const pair = weightedPair(samplesPerSweep);
    const estimateUv = new Float64Array(samplesPerSweep);
    const peaks = recentQuantile(memorySweeps);
    const tell = verdictTeller(listener);
    let powerSumUv2 = 0;
    return {
      add(sweepUv, meta) {
        if (respectFlags && meta.overRange) return tell(meta.index, 0, 'flagged', NaN, NaN);
        const peakUv = Math.max(peakWithin(sweepUv, 0, preSampleCount), peakWithin(sweepUv, skipTo, samplesPerSweep));
        const learntUv = peaks.count() >= LEARNT_FROM ? factor * peaks.read(quantile) : ceilingUv;
        const limitUv = Math.min(ceilingUv, Math.max(floorUv, learntUv));
        const accepted = peakUv < limitUv;
        if (accepted || acceptedOnly === 0) peaks.add(peakUv);
        if (accepted) {
          pair.add(sweepUv, 1, belongsToA(meta.index));
          powerSumUv2 += meanSquareUv2(sweepUv, analysisFrom, analysisTo);
        }
        tell(meta.index, accepted ? 1 : 0, accepted ? 'taken' : 'rejected', peakUv, limitUv);
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
    if (reason === 'flagged') return FLAGGED_SENTENCE;
    const peak = `its largest sample is ${measureUv.toFixed(1)} µV`;
    const limit = `the limit of ${limitUv.toFixed(1)} µV learnt from the sweeps before it`;
    return reason === 'rejected'
      ? `Thrown away: ${peak}, at or over ${limit}.`
      : `Counted in full: ${peak}, under ${limit}.`;
  },
};
