import { type Static, Type } from '@sinclair/typebox';
import { quantity, wholeNumber } from '../scenario/quantity.ts';
import { blockWeighting } from './blockWeighting.ts';
import { kalman } from './kalman.ts';
import { muscleNormalised } from './muscleNormalised.ts';
import { pairBalanced } from './pairBalanced.ts';
import { recentQuantile } from './recentQuantile.ts';
import type { Averager, AveragingStrategy, SweepMeta, VerdictListener } from './strategy.ts';
import { FLAGGED_SENTENCE, verdictTeller } from './verdictTeller.ts';

export const ruleSetParameters = Type.Object(
  {
    task: wholeNumber('', 0, 0, 2, '0 = steady response, 1 = reflex of a tense muscle, 2 = response to be followed'),
    peakFactor: quantity('×', 8, 1, 1000, 'a sweep with a peak beyond so many times the median peak is thrown away'),
    ceilingUv: quantity('µV', 200, 0.1, 1000000, 'so is one beyond this, whatever the median'),
    blockLength: wholeNumber('sweeps', 16, 4, 4096, 'sweeps per block for a steady response'),
    processNoiseUv2: quantity('µV²', 2e-6, 0, 1, 'change from sweep to sweep of a response to be followed'),
  },
  { description: 'a set of rules', additionalProperties: false },
);

const LEARNT_FROM = 20; // sweeps, our choice
const MEMORY = 200; // sweeps, our choice

/**
 * A set of rules that puts the others in their places: the reference solution.
 *
 *     1. leave out flagged sweeps
 *     2. take the mean off for judging; throw away what exceeds 8 times the median of the recent peaks, or the ceiling
 *     3. steady response: blocks of polarity pairs, or of sweeps where the polarity does not alternate
 *        reflex of a muscle: divide by the activity before the stimulus
 *        response to be followed: track with a small process noise
 *
 * Rule 2 only catches what is absurd, so it selects nothing by the response. It is told the task: no rule can see from
 * the sweeps whether a response moves, or grows with a muscle.
 */
export const ruleSet: AveragingStrategy<Static<typeof ruleSetParameters>> = {
  id: 'rule-set',
  scenarioKey: 'ruleSet',
  label: 'Set of rules',
  summary: 'Leaves out flags and absurd peaks, then does what suits the task: blocks of pairs, division, or tracking.',
  parameters: ruleSetParameters,
  timing: 'delayed',
  approximateShares: true,
  longestWait: ({ blockLength }) => 2 * blockLength + 256,
  create(context, { task, peakFactor, ceilingUv, blockLength, processNoiseUv2 }, listener) {
    const { samplesPerSweep, respectFlags } = context;
    const tell = verdictTeller(listener);
    const peaks = recentQuantile(MEMORY);
    const inside = { ...context, respectFlags: false };
    let first: { sweepUv: Float64Array; meta: SweepMeta } | null = null; // waits to see whether the polarity alternates
    let inner: Averager | null = task === 0 ? null : openInner(false);

    function openInner(alternating: boolean): Averager {
      return openTask(inside, listener, task, alternating, blockLength, processNoiseUv2);
    }

    /** Largest distance of a sample from the mean of the sweep, µV. */
    function peakOf(sweepUv: Float64Array): number {
      let sum = 0;
      for (let i = 0; i < samplesPerSweep; i++) sum += sweepUv[i];
      const mean = sum / samplesPerSweep;
      let peakUv = 0;
      for (let i = 0; i < samplesPerSweep; i++) peakUv = Math.max(peakUv, Math.abs(sweepUv[i] - mean));
      return peakUv;
    }

    const nothing = (outUv: Float64Array) => void outUv.fill(NaN, 0, samplesPerSweep);
    return {
      add(sweepUv, meta) {
        if (respectFlags && meta.overRange) return tell(meta.index, 0, 'flagged', NaN, NaN);
        const peakUv = peakOf(sweepUv);
        const learntUv = peaks.count() >= LEARNT_FROM ? peakFactor * peaks.read(0.5) : ceilingUv;
        if (peakUv > 0) peaks.add(peakUv); // a flat line says nothing of what is usual
        const limitUv = Math.min(ceilingUv, learntUv);
        if (peakUv > limitUv) return tell(meta.index, 0, 'rejected', peakUv, limitUv);
        if (inner) return inner.add(sweepUv, meta);
        if (!first) {
          first = { sweepUv: sweepUv.slice(), meta: { ...meta } };
          return;
        }
        inner = openInner(first.meta.polarity !== meta.polarity);
        inner.add(first.sweepUv, first.meta);
        inner.add(sweepUv, meta);
      },
      read: (outUv) => (inner ? inner.read(outUv) : nothing(outUv)),
      readPair(outAUv, outBUv) {
        if (inner) return inner.readPair(outAUv, outBUv);
        nothing(outAUv);
        nothing(outBUv);
      },
      ownNoiseUv: () => inner?.ownNoiseUv() ?? NaN,
      usedCount: () => inner?.usedCount() ?? 0,
      effectiveCount: () => inner?.effectiveCount() ?? 0,
    };
  },
  explain({ reason, weight, measureUv, limitUv }) {
    if (reason === 'flagged') return FLAGGED_SENTENCE;
    if (reason === 'rejected') {
      if (!(measureUv > limitUv)) return 'Left out: it has no partner, or no muscle activity to divide by.';
      return `Thrown away: it reaches ${measureUv.toFixed(1)} µV from its mean, beyond the ${limitUv.toFixed(1)} µV that are not absurd.`;
    }
    return `${reason === 'taken' ? 'Counted' : 'Marked down'}: not absurd, then given the share ${weight.toPrecision(2)} by the rule for its task.`;
  },
};

/** Opens the strategy that the third rule names. */
function openTask(
  context: Parameters<typeof kalman.create>[0],
  listener: VerdictListener,
  task: number,
  alternating: boolean,
  blockLength: number,
  processNoiseUv2: number,
): Averager {
  const block = { varianceFloorUv2: 0, independentPoints: 10 };
  if (task === 1) return muscleNormalised.create(context, { smoothing: 5, lowestUv: 0, highestUv: 1000000 }, listener);
  if (task === 2) {
    const known = { noiseMemory: 0.3, noiseFloorUv2: 0.01, knownNoiseUv2: 0 };
    return kalman.create(context, { processNoiseUv2, ...known }, listener);
  }
  return alternating
    ? pairBalanced.create(context, { pairsPerBlock: Math.max(2, blockLength >> 1), ...block }, listener)
    : blockWeighting.create(context, { blockLength, ...block }, listener);
}
