import { type Static, Type } from '@sinclair/typebox';
import { quantity, wholeNumber } from '../scenario/quantity.ts';
import { type AveragingStrategy, belongsToA, FAINT_WEIGHT, meanSquareUv2 } from './strategy.ts';
import { FLAGGED_SENTENCE, verdictTeller } from './verdictTeller.ts';
import { weightedScatter } from './weightedScatter.ts';

export const templateWeightingParameters = Type.Object(
  {
    startSweeps: wholeNumber(
      'sweeps',
      50,
      2,
      10000,
      'so many sweeps count the same, until there is an average to take off',
    ),
    varianceFloorUv2: quantity(
      'µV²',
      0.25,
      0,
      1000,
      'added to the power of each sweep, so that no quiet one takes over',
    ),
    neighbours: wholeNumber('sweeps', 2, 0, 50, 'sweeps on each side whose power is averaged with its own'),
  },
  { description: 'per-sweep weights by what is left after the average so far', additionalProperties: false },
);

interface Waiting {
  index: number;
  sweepUv: Float64Array;
}

/**
 * Weights each sweep by the power that is left when the average so far has been taken off.
 *
 *     r[k] = x[k] − average before;   w[k] = v₁ / (mean of r² over k ± m + v₀),   first sweeps w = 1
 *
 * v₁ is the variance of the first sweeps plus v₀, so that these count as the later ones do. The power is that of the
 * whole sweep, before and after the stimulus. Own noise = √(Σ w²·r²)/Σw. A poor first average biases a little; a
 * response that grows with the noise (VEMP) is marked down with it; flat sweeps count up to v₁/v₀ times.
 */
export const templateWeighting: AveragingStrategy<Static<typeof templateWeightingParameters>> = {
  id: 'template-weighting',
  scenarioKey: 'templateWeighting',
  label: 'Left-over power',
  summary: 'Each sweep is weighted by what is left of it once the average so far has been taken off.',
  parameters: templateWeightingParameters,
  timing: 'delayed',
  longestWait: ({ neighbours }) => neighbours,
  create(context, { startSweeps, varianceFloorUv2, neighbours }, listener) {
    const { samplesPerSweep: length, analysisFrom, analysisTo, respectFlags } = context;
    const average = weightedScatter(length, analysisFrom, analysisTo);
    const whole = weightedScatter(length, 0, length); // variance of the first sweeps, all samples
    const tell = verdictTeller(listener);
    const rest = new Float64Array(length);
    const waiting: Waiting[] = [];
    const spare: Float64Array[] = [];
    const powersUv2: number[] = []; // of the sweeps waiting and of so many neighbours before them
    let first = 0; // number of the sweep whose power is powersUv2[0], counted from the end of the start
    let decided = 0;
    let referenceUv2 = NaN;

    function decide(): void {
      const { index, sweepUv } = waiting.shift() as Waiting;
      const from = Math.max(first, decided - neighbours) - first;
      let sumUv2 = 0;
      for (let j = from; j < powersUv2.length; j++) sumUv2 += powersUv2[j];
      const powerUv2 = sumUv2 / (powersUv2.length - from) + varianceFloorUv2;
      const weight = powerUv2 > 0 ? referenceUv2 / powerUv2 : referenceUv2 * FAINT_WEIGHT;
      average.add(sweepUv, weight, belongsToA(index));
      spare.push(sweepUv);
      decided++;
      if (decided - first > neighbours) {
        powersUv2.shift();
        first++;
      }
      tell(index, weight, weight < 0.5 ? 'down-weighted' : 'taken', Math.sqrt(powerUv2), Math.sqrt(referenceUv2));
    }

    return {
      add(sweepUv, meta) {
        if (respectFlags && meta.overRange) return tell(meta.index, 0, 'flagged', NaN, NaN);
        if (average.pair.usedCount() < startSweeps && waiting.length === 0) {
          average.add(sweepUv, 1, belongsToA(meta.index));
          whole.add(sweepUv, 1, true);
          const noiseUv = whole.ownNoiseUv();
          if (whole.pair.usedCount() === startSweeps) {
            // Equal first sweeps show no noise: they then count as next to nothing beside those that follow.
            referenceUv2 = noiseUv * noiseUv * startSweeps + varianceFloorUv2 || 1 / FAINT_WEIGHT;
          }
          return tell(meta.index, 1, 'taken', NaN, NaN);
        }
        for (let i = 0; i < length; i++) rest[i] = sweepUv[i] - average.meanUv[i];
        powersUv2.push(meanSquareUv2(rest, 0, length));
        const copy = spare.pop() ?? new Float64Array(length);
        copy.set(sweepUv);
        waiting.push({ index: meta.index, sweepUv: copy });
        if (waiting.length > neighbours) decide();
      },
      read: average.pair.read,
      readPair: average.pair.readPair,
      ownNoiseUv: average.ownNoiseUv,
      usedCount: average.pair.usedCount,
      effectiveCount: average.pair.effectiveCount,
    };
  },
  explain({ reason, weight, measureUv, limitUv }) {
    if (reason === 'flagged') return FLAGGED_SENTENCE;
    if (measureUv === 0) return 'Next to no weight: nothing at all is left of it, so its noise cannot be told.';
    if (Number.isNaN(measureUv)) return 'Counted like its neighbours: the first sweeps all count the same.';
    const size = `about it ${measureUv.toFixed(2)} µV rms are left over, ${limitUv.toFixed(2)} µV at the start`;
    return `${reason === 'taken' ? 'Counted' : 'Marked down'}: ${weight.toPrecision(2)} times the share of a first sweep; ${size}.`;
  },
};
