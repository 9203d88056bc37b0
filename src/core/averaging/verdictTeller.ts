import type { VerdictListener, WeightReason } from './strategy.ts';

/** Tells one verdict; `fade` is 1 where nothing is forgotten. */
export type TellVerdict = (
  index: number,
  weight: number,
  reason: WeightReason,
  measureUv: number,
  limitUv: number,
  fade?: number,
) => void;

/** Makes a teller that reuses one verdict, so that telling costs no memory. */
export function verdictTeller(listener: VerdictListener): TellVerdict {
  const verdict = { index: 0, weight: 0, fade: 1, reason: 'taken' as WeightReason, measureUv: NaN, limitUv: NaN };
  return (index, weight, reason, measureUv, limitUv, fade = 1) => {
    verdict.index = index;
    verdict.weight = weight;
    verdict.fade = fade;
    verdict.reason = reason;
    verdict.measureUv = measureUv;
    verdict.limitUv = limitUv;
    listener(verdict);
  };
}

/** What every strategy says of a sweep that it left out for its flag. */
export const FLAGGED_SENTENCE = 'Left out: the converter was over-range in or just before this sweep.';
