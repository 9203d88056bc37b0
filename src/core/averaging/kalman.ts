import { type Static, Type } from '@sinclair/typebox';
import { quantity } from '../scenario/quantity.ts';
import { type AveragingStrategy, belongsToA, type WeightReason } from './strategy.ts';
import { weightedPair } from './weightedPair.ts';

export const kalmanParameters = Type.Object(
  {
    processNoiseUv2: quantity('µV²', 1e-8, 0, 1, 'Q: how much the response may change from sweep to sweep; 0 = never'),
    noiseMemory: quantity('', 0.3, 0, 0.999, 'ρ: share of the old noise estimate kept at each sweep'),
    noiseFloorUv2: quantity('µV²', 0.01, 0, 1000, 'R is never taken to be smaller'),
    knownNoiseUv2: quantity('µV²', 0, 0, 1e6, 'R, if it is known beforehand; 0 = estimate it from each sweep'),
  },
  { description: 'Kalman-style tracking', additionalProperties: false },
);

const FIRST_UNCERTAINTY_UV2 = 1e6; // µV², our choice: far above any response, so that nothing is assumed of it

/**
 * Kalman-style averaging: each sweep corrects the estimate by a gain that weighs doubt against noise.
 *
 *     P⁻ = P + Q;  ε = x − estimate;  R = max(ρ·R + (1 − ρ)·mean ε²·R/(R + P⁻), R_min)
 *     K = P⁻/(P⁻ + R);  estimate += K·ε;  P = (1 − K)·P⁻;  own noise = √P
 *
 * The factor R/(R + P⁻) takes the estimate's own doubt out of ε². Subtracting P⁻ instead would do the same on average,
 * but goes negative by chance in the first few sweeps, and one of them then takes over for good.
 *
 * Q = 0 is the inverse-variance mean. With Q > 0 old sweeps fade, so that a changing response can be followed; the
 * noise then stops falling near (Q·R)^(1/4). R comes from the sweep that it weighs, once the running estimate has been
 * taken out: a mild self-weighting. The gains amount to shares w[k] = 1/R[k] · Π_{j>k} fade[j],
 * fade = P/(P + Q).
 */
export const kalman: AveragingStrategy<Static<typeof kalmanParameters>> = {
  id: 'kalman',
  scenarioKey: 'kalman',
  label: 'Kalman-style',
  summary: 'Each sweep corrects the running estimate, more when it is quiet; old sweeps may fade.',
  parameters: kalmanParameters,
  timing: 'online',
  create(context, { processNoiseUv2, noiseMemory, noiseFloorUv2, knownNoiseUv2 }, listener) {
    if (!(processNoiseUv2 >= 0)) throw new RangeError(`kalman: processNoiseUv2 must be >= 0, got ${processNoiseUv2}`);
    const { samplesPerSweep, analysisFrom, analysisTo, respectFlags } = context;
    const pair = weightedPair(samplesPerSweep);
    const estimateUv = new Float64Array(samplesPerSweep);
    const verdict = { index: 0, weight: 0, fade: 1, reason: 'taken' as WeightReason, measureUv: 0, limitUv: NaN };
    let uncertaintyUv2 = FIRST_UNCERTAINTY_UV2;
    let noiseUv2 = NaN; // R, unknown before the first sweep
    let shareSum = 0; // of 1/R, over the sweeps used
    return {
      add(sweepUv, meta) {
        const predictedUv2 = uncertaintyUv2 + processNoiseUv2;
        verdict.index = meta.index;
        verdict.fade = pair.usedCount() > 0 ? uncertaintyUv2 / predictedUv2 : 1;
        if (respectFlags && meta.overRange) {
          uncertaintyUv2 = predictedUv2; // time passes for the response all the same
          verdict.weight = 0;
          verdict.reason = 'flagged';
          verdict.measureUv = NaN;
          verdict.limitUv = NaN;
          listener(verdict);
          return;
        }
        let innovationUv2 = 0;
        for (let i = analysisFrom; i < analysisTo; i++) {
          const difference = sweepUv[i] - estimateUv[i];
          innovationUv2 += difference * difference;
        }
        innovationUv2 /= analysisTo - analysisFrom;
        // Before the first sweep the estimate is 0 and P is no measure of its error: take ε² as it is.
        const first = pair.usedCount() === 0;
        const freshUv2 = first ? innovationUv2 : (innovationUv2 * noiseUv2) / (noiseUv2 + predictedUv2);
        const smoothedUv2 = first ? freshUv2 : noiseMemory * noiseUv2 + (1 - noiseMemory) * freshUv2;
        noiseUv2 = knownNoiseUv2 > 0 ? knownNoiseUv2 : Math.max(smoothedUv2, noiseFloorUv2, 1e-12);
        const gain = predictedUv2 / (predictedUv2 + noiseUv2);
        pair.fade(1 - gain);
        pair.add(sweepUv, gain, belongsToA(meta.index));
        pair.read(estimateUv);
        uncertaintyUv2 = (1 - gain) * predictedUv2;
        verdict.weight = 1 / noiseUv2;
        shareSum += verdict.weight;
        verdict.reason = verdict.weight < (0.5 * shareSum) / pair.usedCount() ? 'down-weighted' : 'taken';
        verdict.measureUv = Math.sqrt(noiseUv2);
        verdict.limitUv = gain;
        listener(verdict);
      },
      read: pair.read,
      readPair: pair.readPair,
      ownNoiseUv: () => (pair.usedCount() > 0 ? Math.sqrt(uncertaintyUv2) : NaN),
      usedCount: pair.usedCount,
      effectiveCount: pair.effectiveCount,
    };
  },
  explain({ reason, measureUv, limitUv }) {
    if (reason === 'flagged') return 'Left out: the converter was over-range in or just before this sweep.';
    const noise = `its noise was put at ${measureUv.toFixed(2)} µV rms`;
    return `Moved the estimate by ${Number((100 * limitUv).toPrecision(2))} % of the way towards itself: ${noise}.`;
  },
};
