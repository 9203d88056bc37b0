import { type Static, Type } from '@sinclair/typebox';
import { wholeNumber } from '../scenario/quantity.ts';
import { addScaled } from './addScaled.ts';
import { hindsightAverager } from './hindsight.ts';
import { type AveragingStrategy, meanSquareUv2 } from './strategy.ts';
import { FLAGGED_SENTENCE } from './verdictTeller.ts';

export const sortedAveragingParameters = Type.Object(
  {
    fewestSweeps: wholeNumber('sweeps', 1, 1, 100000, 'never stops before so many, if there are so many'),
    windowOnly: wholeNumber('', 0, 0, 1, '1 = judge by the analysis window instead of the whole sweep'),
  },
  { description: 'averaging in the order of quietness', additionalProperties: false },
);

/**
 * Averages the quietest sweeps, as many as give the least noise.
 *
 *     p[j] = rms of x[j] − plain mean, sorted upwards;   k* = argmin over k of Σ_{j ≤ k} p[j]² / k²
 *
 * Own noise = √(Σ p²)/k*, slightly rosy because the minimum was chosen. Strong against discrete bursts. Without flags
 * it picks exactly the flat sweeps. Sweeps that resemble the plain mean look quiet, noise of the plain mean included. It
 * needs the whole run, so at every moment it is worked out from the start. After [MS99].
 */
export const sortedAveraging: AveragingStrategy<Static<typeof sortedAveragingParameters>> = {
  id: 'sorted-averaging',
  scenarioKey: 'sortedAveraging',
  label: 'Sorted by quietness',
  summary: 'Sweeps are sorted, quietest first, and averaged as long as each still lowers the noise.',
  parameters: sortedAveragingParameters,
  timing: 'hindsight',
  orderFree: true,
  create(context, { fewestSweeps, windowOnly }, listener) {
    const { samplesPerSweep } = context;
    const from = windowOnly === 1 ? context.analysisFrom : 0;
    const to = windowOnly === 1 ? context.analysisTo : samplesPerSweep;
    return hindsightAverager(context, listener, (sweepsUv) => {
      const count = sweepsUv.length;
      const mean = new Float64Array(samplesPerSweep);
      for (const sweepUv of sweepsUv) addScaled(mean, sweepUv, 1 / count);
      const rest = new Float64Array(samplesPerSweep);
      const powersUv2 = sweepsUv.map((sweepUv) => {
        for (let i = from; i < to; i++) rest[i] = sweepUv[i] - mean[i];
        return meanSquareUv2(rest, from, to);
      });
      const order = Uint32Array.from({ length: count }, (_, k) => k).sort(
        (a, b) => powersUv2[a] - powersUv2[b] || a - b,
      );
      let sum = 0;
      let least = Infinity;
      let kept = 0;
      for (let k = 1; k <= count; k++) {
        sum += powersUv2[order[k - 1]];
        if (k < Math.min(fewestSweeps, count)) continue;
        if (sum / k / k <= least) {
          least = sum / k / k;
          kept = k;
        }
      }
      const taken = new Uint8Array(count);
      for (let k = 0; k < kept; k++) taken[order[k]] = 1;
      return {
        average(chosen, outUv) {
          let used = 0;
          outUv.fill(0);
          for (let k = 0; k < count; k++) {
            if (taken[k] === 0 || !chosen(k)) continue;
            addScaled(outUv, sweepsUv[k], 1);
            used++;
          }
          for (let i = 0; i < samplesPerSweep; i++) outUv[i] /= used;
        },
        ownNoiseUv: count > 1 ? Math.sqrt(least) : NaN,
        usedCount: kept,
        effectiveCount: kept,
        weight: (k) => taken[k],
        reason: (k) => (taken[k] === 1 ? 'taken' : 'rejected'),
        measureUv: (k) => Math.sqrt(powersUv2[k]),
        limitUv: Math.sqrt(powersUv2[order[kept - 1]]),
      };
    });
  },
  explain({ reason, measureUv, limitUv }) {
    if (reason === 'flagged') return FLAGGED_SENTENCE;
    const size = `about it ${measureUv.toFixed(2)} µV rms are left over`;
    return reason === 'taken'
      ? `Counted in full: ${size}, and up to ${limitUv.toFixed(2)} µV a sweep still lowers the noise.`
      : `Left out: ${size}, more than the ${limitUv.toFixed(2)} µV beyond which a sweep raises the noise.`;
  },
};
