import { type Static, Type } from '@sinclair/typebox';
import { quantity, wholeNumber } from '../scenario/quantity.ts';
import { addScaled } from './addScaled.ts';
import { type AveragingStrategy, belongsToA, FAINT_WEIGHT, sumOfSquaresUv2, type WeightReason } from './strategy.ts';

export const blockWeightingParameters = Type.Object(
  {
    blockLength: wholeNumber('sweeps', 32, 2, 4096, 'sweeps per block; a block gets one common weight'),
    varianceFloorUv2: quantity('µV²', 0, 0, 1000, 'added to each block variance, so that no block takes over'),
    independentPoints: quantity('', 10, 1, 1000, 'independent numbers in one sweep, for the honesty of the claim'),
  },
  { description: 'Bayesian block weighting', additionalProperties: false },
);

/**
 * Bayesian block weighting: a block of sweeps counts in proportion to how quiet it is.
 *
 *     m_b = mean of block b,   v_b = mean over t of Σ_k (x[k] − m_b)² / (B − 1)
 *     estimate = Σ_b (B/v_b)·m_b / Σ_b B/v_b,   own noise = (Σ_b B/v_b)^(−1/2) · √(ν/(ν − 2)),  ν = (B − 1)·points
 *
 * The variance is taken about the block's own mean, so the response does not enter the weight. Long blocks poison
 * whole stretches; short blocks know their variance badly. A response that grows with the noise is biased, and flat
 * (pinned) blocks take over unless over-range sweeps are left out; exactly constant ones count next to nothing. After [EW85] Elberling & Wahlgreen 1985.
 */
export const blockWeighting: AveragingStrategy<Static<typeof blockWeightingParameters>> = {
  id: 'block-weighting',
  scenarioKey: 'blockWeighting',
  label: 'Bayesian blocks',
  summary: 'Sweeps are gathered into blocks; a quiet block counts more than a noisy one.',
  parameters: blockWeightingParameters,
  timing: 'delayed',
  signFree: true,
  create(context, { blockLength, varianceFloorUv2, independentPoints }, listener) {
    if (!(blockLength >= 2)) throw new RangeError(`blockWeighting: blockLength must be >= 2, got ${blockLength}`);
    const { samplesPerSweep: length, analysisFrom, analysisTo, respectFlags } = context;
    const sumA = new Float64Array(length);
    const sumB = new Float64Array(length);
    const blockA = new Float64Array(length);
    const blockB = new Float64Array(length);
    const members = new Int32Array(blockLength);
    const verdict = { index: 0, weight: 0, fade: 1, reason: 'waiting' as WeightReason, measureUv: NaN, limitUv: NaN };
    let weightA = 0;
    let weightB = 0;
    let squares = 0;
    let used = 0;
    let known = 0; // sweeps in blocks that show their noise
    let memberCount = 0;
    let memberCountA = 0;
    let blockPowerUv2 = 0;

    function closeBlock(): void {
      let meanPowerUv2 = 0;
      for (let i = analysisFrom; i < analysisTo; i++) {
        const mean = (blockA[i] + blockB[i]) / blockLength;
        meanPowerUv2 += mean * mean;
      }
      const differenceUv2 = blockPowerUv2 - blockLength * meanPowerUv2;
      // Identical sweeps leave a rest of rounding, of either sign, instead of 0.
      const scatterUv2 = differenceUv2 > 1e-12 * blockPowerUv2 ? differenceUv2 : 0;
      const points = analysisTo - analysisFrom;
      const varianceUv2 = scatterUv2 / points / (blockLength - 1) + varianceFloorUv2;
      // An exactly constant block tells nothing about its noise: it counts next to nothing instead of infinitely.
      const constant = !(varianceUv2 > 0);
      const weight = constant ? FAINT_WEIGHT : 1 / varianceUv2;
      for (let i = 0; i < length; i++) {
        sumA[i] += weight * blockA[i];
        sumB[i] += weight * blockB[i];
        blockA[i] = 0;
        blockB[i] = 0;
      }
      weightA += weight * memberCountA;
      weightB += weight * (blockLength - memberCountA);
      squares += weight * weight * blockLength;
      used += blockLength;
      if (!constant) known += blockLength;
      const usualWeight = (weightA + weightB) / (known > 0 ? known : used);
      verdict.weight = weight;
      verdict.reason = weight < 0.5 * usualWeight || constant ? 'down-weighted' : 'taken';
      verdict.measureUv = Math.sqrt(varianceUv2);
      verdict.limitUv = Math.sqrt(1 / usualWeight);
      for (let j = 0; j < blockLength; j++) {
        verdict.index = members[j];
        listener(verdict);
      }
      memberCount = 0;
      memberCountA = 0;
      blockPowerUv2 = 0;
    }

    return {
      add(sweepUv, meta) {
        if (respectFlags && meta.overRange) {
          verdict.index = meta.index;
          verdict.weight = 0;
          verdict.reason = 'flagged';
          verdict.measureUv = NaN;
          verdict.limitUv = NaN;
          listener(verdict);
          return;
        }
        const toA = belongsToA(meta.index);
        const block = toA ? blockA : blockB;
        addScaled(block, sweepUv, 1);
        blockPowerUv2 += sumOfSquaresUv2(sweepUv, analysisFrom, analysisTo);
        members[memberCount++] = meta.index;
        if (toA) memberCountA++;
        if (memberCount === blockLength) closeBlock();
      },
      read(outUv) {
        const share = 1 / (weightA + weightB);
        for (let i = 0; i < length; i++) outUv[i] = (sumA[i] + sumB[i]) * share;
      },
      readPair(outAUv, outBUv) {
        const shareA = 1 / weightA;
        const shareB = 1 / weightB;
        for (let i = 0; i < length; i++) {
          outAUv[i] = sumA[i] * shareA;
          outBUv[i] = sumB[i] * shareB;
        }
      },
      ownNoiseUv() {
        const freedom = (blockLength - 1) * independentPoints;
        if (!(freedom > 2) || known === 0) return NaN;
        return Math.sqrt(freedom / (freedom - 2) / (weightA + weightB));
      },
      usedCount: () => used,
      effectiveCount: () => (squares > 0 ? ((weightA + weightB) * (weightA + weightB)) / squares : 0),
    };
  },
  explain({ reason, measureUv, limitUv }) {
    if (reason === 'flagged')
      return 'Left out of its block: the converter was over-range in or just before this sweep.';
    if (reason === 'waiting') return 'Waiting: its block is not complete yet.';
    if (measureUv === 0) return 'Next to no weight: its block is exactly constant, so its noise cannot be told.';
    const share = ((limitUv * limitUv) / (measureUv * measureUv)).toPrecision(2);
    const size = `its block has ${measureUv.toFixed(2)} µV rms of noise per sweep, ${limitUv.toFixed(2)} µV is usual`;
    return `${reason === 'taken' ? 'Counted' : 'Marked down'}: ${share} times the usual share; ${size}.`;
  },
};
