import { type Static, Type } from '@sinclair/typebox';
import { type AveragingStrategy, belongsToA, FAINT_WEIGHT, meanSquareUv2 } from './strategy.ts';
import { FLAGGED_SENTENCE, verdictTeller } from './verdictTeller.ts';
import { weightedPair } from './weightedPair.ts';

export const selfWeightingParameters = Type.Object(
  {},
  { description: 'weights by the power of the sweep itself: nothing to set', additionalProperties: false },
);

/**
 * Weights each sweep by its own power, response and all. Here to be seen losing.
 *
 *     w[k] = 1 / mean over the window of x[k]²,   own noise = 1/√Σw
 *
 * A sweep whose noise happens to oppose the response is small and counts more, so the response shrinks, for white noise
 * of M independent numbers by 2/M:
 *
 *     gain = 1 − 2·s'Cs / (s's · tr C),   C the covariance of the noise within the window
 *
 * A flat sweep takes over completely. The claim is too low, because 1/x² is large by chance more often than small.
 */
export const selfWeighting: AveragingStrategy<Static<typeof selfWeightingParameters>> = {
  id: 'self-weighting',
  scenarioKey: 'selfWeighting',
  label: 'Own power (for teaching)',
  summary: 'Each sweep is weighted by its own size, response included: it shrinks what it should keep.',
  parameters: selfWeightingParameters,
  timing: 'online',
  signFree: true,
  create(context, _parameters, listener) {
    const { samplesPerSweep, analysisFrom, analysisTo, respectFlags } = context;
    const pair = weightedPair(samplesPerSweep);
    const tell = verdictTeller(listener);
    let known = 0; // sweeps that are not silent
    return {
      add(sweepUv, meta) {
        if (respectFlags && meta.overRange) return tell(meta.index, 0, 'flagged', NaN, NaN);
        const powerUv2 = meanSquareUv2(sweepUv, analysisFrom, analysisTo);
        const weight = powerUv2 > 0 ? 1 / powerUv2 : FAINT_WEIGHT; // exact silence tells nothing
        if (powerUv2 > 0) known++;
        pair.add(sweepUv, weight, belongsToA(meta.index));
        const usual = pair.weightSum() / pair.usedCount();
        tell(
          meta.index,
          weight,
          powerUv2 === 0 || weight < 0.5 * usual ? 'down-weighted' : 'taken',
          Math.sqrt(powerUv2),
          Math.sqrt(1 / usual),
        );
      },
      read: pair.read,
      readPair: pair.readPair,
      ownNoiseUv: () => (known > 1 ? Math.sqrt(1 / pair.weightSum()) : NaN),
      usedCount: pair.usedCount,
      effectiveCount: pair.effectiveCount,
    };
  },
  explain({ reason, measureUv, limitUv }) {
    if (reason === 'flagged') return FLAGGED_SENTENCE;
    if (measureUv === 0) return 'Next to no weight: it is exactly silent, so its size cannot be turned into a weight.';
    const share = ((limitUv * limitUv) / (measureUv * measureUv)).toPrecision(2);
    return `${reason === 'taken' ? 'Counted' : 'Marked down'}: ${share} times the usual share, for its own ${measureUv.toFixed(2)} µV rms.`;
  },
};
