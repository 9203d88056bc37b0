import { type Static, Type } from '@sinclair/typebox';
import { quantity, wholeNumber } from '../scenario/quantity.ts';
import { blockWeighting } from './blockWeighting.ts';
import { type AveragingStrategy, belongsToA } from './strategy.ts';
import { FLAGGED_SENTENCE, verdictTeller } from './verdictTeller.ts';

export const pairBalancedParameters = Type.Object(
  {
    pairsPerBlock: wholeNumber('pairs', 16, 2, 2048, 'pairs of sweeps per block; a block gets one common weight'),
    varianceFloorUv2: quantity('µV²', 0, 0, 1000, 'added to each block variance, so that no block takes over'),
    independentPoints: quantity('', 10, 1, 1000, 'independent numbers in one sweep, for the honesty of the claim'),
  },
  { description: 'block weighting of polarity pairs', additionalProperties: false },
);

const LONGEST_QUEUE = 128; // sweeps, our choice: polarity that comes in longer blocks leaves no partner near in time

/**
 * Block weighting of pairs: one condensation and one rarefaction sweep enter together, with one weight.
 *
 *     y[j] = ½·(condensation sweep + rarefaction sweep);   then Bayesian block weighting of the y
 *
 * What changes sign with the polarity (stimulus artefact, microphonic) cancels whatever the weights, which it does not
 * where each polarity has a weight of its own. The first sweep of one polarity is paired with the first free one of the
 * other in the same split buffer. Needs alternating polarity: without it no pair is ever complete.
 */
export const pairBalanced: AveragingStrategy<Static<typeof pairBalancedParameters>> = {
  id: 'pair-balanced',
  scenarioKey: 'pairBalanced',
  label: 'Blocks of polarity pairs',
  summary: 'A condensation and a rarefaction sweep enter together, so that the stimulus artefact cancels.',
  parameters: pairBalancedParameters,
  timing: 'delayed',
  signFree: true,
  longestWait: ({ pairsPerBlock }) => 2 * (pairsPerBlock + LONGEST_QUEUE),
  create(context, { pairsPerBlock, varianceFloorUv2, independentPoints }, listener) {
    const { samplesPerSweep } = context;
    const tell = verdictTeller(listener);
    const members = new Map<number, readonly [number, number]>(); // pairs that wait for their block
    const inner = blockWeighting.create(
      { ...context, respectFlags: false },
      { blockLength: pairsPerBlock, varianceFloorUv2, independentPoints },
      ({ index, weight, reason, measureUv, limitUv }) => {
        for (const member of members.get(index) ?? []) tell(member, weight / 2, reason, measureUv, limitUv);
        members.delete(index);
      },
    );
    // Partners come from the same split buffer, so that each buffer holds whole pairs.
    const queues = [0, 1].map(() => [] as { index: number; polarity: 1 | -1; sweepUv: Float64Array }[]);
    const spare: Float64Array[] = [];
    const mean = new Float64Array(samplesPerSweep);
    let pairCount = 0;

    return {
      add(sweepUv, meta) {
        const { index, polarity, overRange } = meta;
        if (context.respectFlags && overRange) return tell(index, 0, 'flagged', NaN, NaN);
        const toA = belongsToA(index);
        const queue = queues[toA ? 0 : 1];
        if (queue.length === 0 || queue[0].polarity === polarity) {
          if (queue.length === LONGEST_QUEUE) tell((queue.shift() as (typeof queue)[0]).index, 0, 'rejected', NaN, NaN);
          const copy = spare.pop() ?? new Float64Array(samplesPerSweep);
          copy.set(sweepUv);
          queue.push({ index, polarity, sweepUv: copy });
          return;
        }
        const partner = queue.shift() as (typeof queue)[0];
        for (let i = 0; i < samplesPerSweep; i++) mean[i] = 0.5 * (partner.sweepUv[i] + sweepUv[i]);
        spare.push(partner.sweepUv);
        const label = 4 * pairCount++ + (toA ? 0 : 2); // a number of its own that belongs to the same buffer
        members.set(label, [partner.index, index]);
        inner.add(mean, { ...meta, index: label, overRange: false });
      },
      read: inner.read,
      readPair: inner.readPair,
      ownNoiseUv: inner.ownNoiseUv,
      usedCount: () => 2 * inner.usedCount(),
      effectiveCount: () => 2 * inner.effectiveCount(),
    };
  },
  explain(verdict) {
    if (verdict.reason === 'flagged') return FLAGGED_SENTENCE;
    if (verdict.reason === 'rejected') return 'Left out: no sweep of the other polarity came to be its partner.';
    return blockWeighting.explain(verdict).replace('its block has', 'the pairs of its block have');
  },
};
