import { type Static, Type } from '@sinclair/typebox';
import { quantity, wholeNumber } from '../scenario/quantity.ts';
import { muscleLevel } from './muscleLevel.ts';
import { type AveragingStrategy, belongsToA, FAINT_WEIGHT } from './strategy.ts';
import { FLAGGED_SENTENCE, verdictTeller } from './verdictTeller.ts';
import { weightedScatter } from './weightedScatter.ts';

export const muscleNormalisedParameters = Type.Object(
  {
    smoothing: wholeNumber('sweeps', 5, 1, 1000, 'sweeps over which the meter of muscle activity is smoothed'),
    lowestUv: quantity('µV', 0, 0, 100000, 'a sweep with less mean rectified activity is left out'),
    highestUv: quantity('µV', 100000, 0.1, 1000000, 'so is one with more'),
  },
  { description: 'average of sweeps divided by muscle activity', additionalProperties: false },
);

/**
 * Divides each sweep by the muscle activity before its stimulus, for responses that are as large as the effort.
 *
 *     y = (1/N) Σ x[k]/e[k],   shown as y · mean(e) so that it reads in µV;   own noise = mean(e) · SD(x/e)/√N
 *
 * e is the mean rectified recording before the stimulus, smoothed over the last sweeps. The right model where response
 * and noise both grow with the contraction: x = c·(s + n) asks for 1/c, not 1/c². Wrong where the response has a part
 * that does not. Chance in e inflates the average by 1 + CV²(e), where CV is the scatter of the meter itself.
 */
export const muscleNormalised: AveragingStrategy<Static<typeof muscleNormalisedParameters>> = {
  id: 'muscle-normalised',
  scenarioKey: 'muscleNormalised',
  label: 'Divided by muscle activity',
  summary: 'Each sweep is divided by the muscle activity before it, as the reflexes of the balance organ ask for.',
  parameters: muscleNormalisedParameters,
  timing: 'online',
  signFree: true,
  approximateShares: true,
  create(context, { smoothing, lowestUv, highestUv }, listener) {
    if (!(highestUv > lowestUv)) {
      throw new RangeError(`muscleNormalised: highestUv must be > lowestUv (${lowestUv}), got ${highestUv}`);
    }
    const { samplesPerSweep, preSampleCount, analysisFrom, analysisTo, respectFlags } = context;
    const meter = muscleLevel(preSampleCount, smoothing);
    const average = weightedScatter(samplesPerSweep, analysisFrom, analysisTo); // of x/e
    const scaled = new Float64Array(samplesPerSweep);
    const tell = verdictTeller(listener);
    let levelSumUv = 0;
    let shares = 0;
    let squares = 0;

    const times = (outUv: Float64Array) => {
      const levelUv = levelSumUv / average.pair.weightSum();
      for (let i = 0; i < samplesPerSweep; i++) outUv[i] *= levelUv;
    };

    return {
      add(sweepUv, meta) {
        if (respectFlags && meta.overRange) return tell(meta.index, 0, 'flagged', NaN, NaN);
        const levelUv = meter.next(sweepUv);
        // Nothing can be divided by what was not recorded.
        if (!(levelUv >= lowestUv && levelUv <= highestUv)) {
          return tell(meta.index, 0, 'rejected', levelUv, levelUv > highestUv ? highestUv : lowestUv);
        }
        // Nor by silence: such a sweep counts next to nothing, undivided, so that silent sweeps alone have an average.
        const silent = levelUv === 0;
        const divisorUv = silent ? 1 : levelUv;
        const weight = silent ? FAINT_WEIGHT : 1;
        for (let i = 0; i < samplesPerSweep; i++) scaled[i] = sweepUv[i] / divisorUv;
        average.add(scaled, weight, belongsToA(meta.index));
        levelSumUv += weight * divisorUv;
        const share = weight / divisorUv;
        shares += share;
        squares += share * share;
        const usualUv = levelSumUv / average.pair.weightSum();
        tell(meta.index, share, silent ? 'down-weighted' : 'taken', levelUv, usualUv);
      },
      read(outUv) {
        average.pair.read(outUv);
        times(outUv);
      },
      readPair(outAUv, outBUv) {
        average.pair.readPair(outAUv, outBUv);
        times(outAUv);
        times(outBUv);
      },
      ownNoiseUv: () => (average.ownNoiseUv() * levelSumUv) / average.pair.weightSum(),
      usedCount: average.pair.usedCount,
      effectiveCount: () => (squares > 0 ? (shares * shares) / squares : 0),
    };
  },
  explain({ reason, measureUv, limitUv }) {
    if (reason === 'flagged') return FLAGGED_SENTENCE;
    if (Number.isNaN(measureUv))
      return 'Left out: nothing was recorded before the stimulus, so there is no activity to divide by.';
    const activity = `${measureUv.toPrecision(3)} µV of muscle activity`;
    if (reason === 'rejected' && measureUv === 0) return 'Left out: no muscle activity to divide by.';
    if (reason === 'rejected') return `Left out: ${activity}, outside the limit of ${limitUv} µV.`;
    if (measureUv === 0) return 'Next to no weight: no muscle activity to divide by.';
    return `Divided by ${activity}; ${limitUv.toPrecision(3)} µV is usual.`;
  },
};
