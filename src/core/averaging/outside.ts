/**
 * What somebody who writes a strategy of their own may import, as `sweepwise`: the types of the contract and the few
 * things that every strategy needs.
 */
export { quantity, section as tunables, wholeNumber } from '../scenario/quantity.ts';
export type {
  Averager,
  AveragingContext,
  AveragingStrategy,
  IntervalSamples,
  SweepMeta,
  SweepVerdict,
  VerdictListener,
  WeightReason,
} from './strategy.ts';
export { belongsToA, meanSquareUv2 } from './strategy.ts';
export { type WeightedPair, weightedPair } from './weightedPair.ts';
