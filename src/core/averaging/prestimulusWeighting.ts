import { type Static, Type } from '@sinclair/typebox';
import { quantity } from '../scenario/quantity.ts';
import { type AveragingStrategy, belongsToA, FAINT_WEIGHT, type SweepMeta } from './strategy.ts';
import { FLAGGED_SENTENCE, verdictTeller } from './verdictTeller.ts';
import { weightedScatter } from './weightedScatter.ts';

export const prestimulusWeightingParameters = Type.Object(
  {
    lengthMs: quantity('ms', 15, 1, 2000, 'stretch before the stimulus that is judged, as far as it was recorded'),
    varianceFloorUv2: quantity('µV²', 0.25, 0, 1000, 'added to each power, so that no quiet stretch takes over'),
  },
  { description: 'per-sweep weights by the recording before the stimulus', additionalProperties: false },
);

/**
 * Weights each sweep by the noise just before its stimulus.
 *
 *     w[k] = 1 / (variance of the stretch before stimulus k + v₀)
 *
 * The response is not in the stretch, so it cannot be shrunk by its own weights. A burst that begins after the stimulus
 * is missed, and one that ends before it is held against a clean sweep. A response that grows with the noise (VEMP) is
 * marked down with it. A short stretch knows its noise badly: below about 10 ms the weights are chance.
 */
export const prestimulusWeighting: AveragingStrategy<Static<typeof prestimulusWeightingParameters>> = {
  id: 'prestimulus-weighting',
  scenarioKey: 'prestimulusWeighting',
  label: 'Noise before the stimulus',
  summary: 'Each sweep is weighted by how quiet it was just before its stimulus.',
  parameters: prestimulusWeightingParameters,
  timing: 'online',
  signFree: true,
  usesInterval: true,
  create(context, { lengthMs, varianceFloorUv2 }, listener) {
    const { samplesPerSweep, preSampleCount, analysisFrom, analysisTo, respectFlags } = context;
    const average = weightedScatter(samplesPerSweep, analysisFrom, analysisTo);
    const tell = verdictTeller(listener);
    const wanted = Math.max(2, Math.round((lengthMs * context.sampleRateHz) / 1000));

    /** Variance of the last samples before the stimulus, µV²; NaN if there are fewer than 2. */
    function varianceBefore(sweepUv: Float64Array, interval: SweepMeta['interval']): number {
      const samples = interval ? interval.samplesUv : sweepUv;
      const end = samples.length - samplesPerSweep + preSampleCount;
      const count = Math.min(wanted, end);
      if (count < 2) return NaN;
      let sum = 0;
      for (let i = end - count; i < end; i++) sum += samples[i];
      const mean = sum / count;
      let squares = 0;
      for (let i = end - count; i < end; i++) squares += (samples[i] - mean) * (samples[i] - mean);
      return squares / count;
    }

    return {
      add(sweepUv, meta) {
        if (respectFlags && meta.overRange) return tell(meta.index, 0, 'flagged', NaN, NaN);
        const powerUv2 = varianceBefore(sweepUv, meta.interval) + varianceFloorUv2;
        const blind = Number.isNaN(powerUv2); // nothing was recorded before the stimulus: all count the same
        const weight = blind ? 1 : powerUv2 > 0 ? 1 / powerUv2 : FAINT_WEIGHT;
        average.add(sweepUv, weight, belongsToA(meta.index));
        const usual = average.pair.weightSum() / average.pair.usedCount();
        const reason = powerUv2 === 0 || weight < 0.5 * usual ? 'down-weighted' : 'taken';
        tell(meta.index, weight, reason, blind ? NaN : Math.sqrt(powerUv2), Math.sqrt(1 / usual));
      },
      read: average.pair.read,
      readPair: average.pair.readPair,
      ownNoiseUv: average.ownNoiseUv,
      usedCount: average.pair.usedCount,
      effectiveCount: average.pair.effectiveCount,
    };
  },
  explain({ reason, measureUv, limitUv }) {
    if (reason === 'flagged') return FLAGGED_SENTENCE;
    if (measureUv === 0) return 'Next to no weight: the recording before its stimulus is exactly flat.';
    if (Number.isNaN(measureUv)) return 'Counted like every other sweep: nothing was recorded before the stimulus.';
    const share = ((limitUv * limitUv) / (measureUv * measureUv)).toPrecision(2);
    return `${reason === 'taken' ? 'Counted' : 'Marked down'}: ${share} times the usual share, for ${measureUv.toFixed(2)} µV rms before its stimulus.`;
  },
};
