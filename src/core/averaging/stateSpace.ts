import { type Static, Type } from '@sinclair/typebox';
import { quantity, wholeNumber } from '../scenario/quantity.ts';
import { stateSpaceFilter } from './stateSpaceFilter.ts';
import { type AveragingStrategy, belongsToA } from './strategy.ts';
import { FLAGGED_SENTENCE, verdictTeller } from './verdictTeller.ts';
import { weightedPair } from './weightedPair.ts';

export const stateSpaceParameters = Type.Object(
  {
    lineHz: quantity('Hz', 50, 1, 1000, 'frequency of the mains'),
    harmonicCount: wholeNumber('', 7, 0, 12, 'harmonics of the mains that are followed; 0 = none'),
    basisSize: wholeNumber(
      'curves',
      12,
      4,
      64,
      'curves that stand for the response while mains and drift are told apart',
    ),
    responseChangeUv2: quantity('µV²', 0, 0, 1, 'Q: how much the response may change from sweep to sweep; 0 = never'),
    mainsChangeUv2: quantity('µV²', 1e-3, 0, 1000, 'how much each harmonic may change from sweep to sweep'),
    driftChangeUv2: quantity('µV²', 0.01, 0, 1e6, 'how much the drift may change from sweep to sweep'),
    noiseMemory: quantity('', 0.3, 0, 0.999, 'ρ: share of the old noise estimate kept at each sweep'),
    noiseFloorUv2: quantity('µV²', 0.01, 0, 1000, 'R is never taken to be smaller'),
  },
  { description: 'state-space tracking of response, drift and mains', additionalProperties: false },
);

const FIRST_DOUBT = 1e4; // × the power of the first sweep, our choice: nothing is assumed of the average
const LEAST_UV2 = 1e-24; // µV²: rounding must not make a claim of 0

/**
 * A Kalman filter over response, drift and mains together; what it makes of drift and mains is taken off each sweep.
 *
 *     state z = [c (curves of the response), d, d' (drift and its slope), (a, b) of each harmonic]
 *     x(t) = Σ c_b·B_b(t since the stimulus, while the sweep lasts) + d + d'·t + Σ_h a_h·cos 2πhf₀t + b_h·sin 2πhf₀t + noise
 *     between sweeps: c, a and b walk, d moves on by d';   the rest in `stateSpaceFilter.ts`
 *     R ← R + (1 − ρ)·u·(u·mean(x − H·z)² − R),   u = R/(R + mean H·P·H')
 *     average: of the sweeps without drift and mains, with Kalman gains of R and Q as in the scalar filter
 *
 * It hears the recording between the sweeps, where there is no response: inside a locked window mains and response
 * cannot be told apart. The curves only have to keep the response out of drift and mains, so a basis too small does not
 * clip the shape of the average; what it cannot express leaks. Own noise² = the larger of P of the average plus what its
 * errors in drift and mains do to that average, and mean B·P·B' over the window.
 */
export const stateSpace: AveragingStrategy<Static<typeof stateSpaceParameters>> = {
  id: 'state-space',
  scenarioKey: 'stateSpace',
  label: 'State-space tracking',
  summary: 'Follows drift and mains through the recording, between the sweeps too, and takes them off each sweep.',
  parameters: stateSpaceParameters,
  timing: 'online',
  approximateShares: true,
  subtracts: true,
  usesInterval: true,
  create(context, setting, listener) {
    const { samplesPerSweep, sampleRateHz, respectFlags, baseline = 'none' } = context;
    const { responseChangeUv2, noiseMemory, noiseFloorUv2 } = setting;
    const filter = stateSpaceFilter({ ...context, ...setting, baseline });
    const pair = weightedPair(samplesPerSweep);
    const tell = verdictTeller(listener);
    const cleanUv = new Float64Array(samplesPerSweep);
    const takenUv = new Float64Array(samplesPerSweep);
    let noiseUv2 = NaN; // R per sample
    let averageDoubtUv2 = NaN;
    let weightSum = 0;
    return {
      add(sweepUv, meta) {
        filter.predict(meta.timeS);
        const fade = pair.usedCount() > 0 ? averageDoubtUv2 / (averageDoubtUv2 + responseChangeUv2) : 1;
        if (respectFlags && meta.overRange) {
          averageDoubtUv2 += responseChangeUv2; // time passes for the response all the same
          return tell(meta.index, 0, 'flagged', NaN, NaN, fade);
        }
        const samplesUv = meta.interval?.samplesUv ?? sweepUv;
        const firstSample = meta.interval?.firstSample ?? Math.round(meta.timeS * sampleRateHz) - samplesPerSweep;
        const powerUv2 = filter.look(samplesUv, firstSample);
        if (Number.isNaN(noiseUv2)) {
          noiseUv2 = powerUv2;
          const firstUv2 = Math.max(powerUv2, noiseFloorUv2, 1e-12);
          filter.begin(firstUv2);
          averageDoubtUv2 = FIRST_DOUBT * firstUv2;
        } else {
          filter.followColour(powerUv2);
          // Where the state's own doubt may be all that is seen, nothing is learnt of R: else it falls to next to nothing in
          // the second sweep, which then takes over for good.
          const trust = noiseUv2 / (noiseUv2 + filter.doubtUv2());
          noiseUv2 += (1 - noiseMemory) * trust * (powerUv2 * trust - noiseUv2);
        }
        noiseUv2 = Math.max(noiseUv2, noiseFloorUv2, 1e-12);
        filter.update(noiseUv2);
        filter.readNuisance(takenUv);
        for (let i = 0; i < samplesPerSweep; i++) cleanUv[i] = sweepUv[i] - takenUv[i];
        const predictedUv2 = averageDoubtUv2 + responseChangeUv2;
        const gain = predictedUv2 / (predictedUv2 + noiseUv2);
        pair.fade(1 - gain);
        pair.add(cleanUv, gain, belongsToA(meta.index));
        averageDoubtUv2 = (1 - gain) * predictedUv2;
        filter.followAverage(gain);
        const weight = 1 / noiseUv2;
        weightSum += weight;
        const reason = weight < (0.5 * weightSum) / pair.usedCount() ? 'down-weighted' : 'taken';
        tell(meta.index, weight, reason, Math.sqrt(noiseUv2), rmsOf(takenUv), fade);
      },
      read: pair.read,
      readPair: pair.readPair,
      ownNoiseUv() {
        if (pair.usedCount() === 0) return NaN;
        return Math.sqrt(Math.max(averageDoubtUv2 + filter.extraUv2(), filter.responseDoubtUv2(), LEAST_UV2));
      },
      usedCount: pair.usedCount,
      effectiveCount: pair.effectiveCount,
    };
  },
  explain({ reason, measureUv, limitUv }) {
    if (reason === 'flagged') return FLAGGED_SENTENCE;
    const taken = `${limitUv.toFixed(2)} µV rms of drift and mains were taken off it`;
    return `${reason === 'taken' ? 'Counted' : 'Marked down'}: its noise was put at ${measureUv.toFixed(2)} µV rms, and ${taken}.`;
  },
};

function rmsOf(values: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i] * values[i];
  return Math.sqrt(sum / values.length);
}
