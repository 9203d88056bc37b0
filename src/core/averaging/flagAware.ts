import type { AveragingStrategy, SweepMeta } from './strategy.ts';
import { FLAGGED_SENTENCE, verdictTeller } from './verdictTeller.ts';

/**
 * Wraps a strategy so that sweeps flagged over-range never reach it.
 *
 * Cures the trap of the flat line: a stage that is blocked gives sweeps without noise, and whoever weights by quietness
 * trusts them most. For strategies that do not look at the flag themselves, and for lanes that shall look at it where
 * the scenario tells all others not to. The wrapped strategy keeps its id.
 */
export function flagAware<Parameters>(inner: AveragingStrategy<Parameters>): AveragingStrategy<Parameters> {
  return {
    ...inner,
    label: `${inner.label}, flags left out`,
    create(context, parameters, listener) {
      const averager = inner.create(context, parameters, listener);
      const tell = verdictTeller(listener);
      const flagged: number[] = [];
      const wrapped = {
        ...averager,
        add(sweepUv: Float64Array, meta: Readonly<SweepMeta>) {
          if (!meta.overRange) return averager.add(sweepUv, meta);
          if (averager.settle) flagged.push(meta.index);
          else tell(meta.index, 0, 'flagged', NaN, NaN);
        },
      };
      if (!averager.settle) return wrapped;
      return {
        ...wrapped,
        settle() {
          averager.settle?.();
          for (const index of flagged) tell(index, 0, 'flagged', NaN, NaN);
        },
      };
    },
    explain: (verdict) => (verdict.reason === 'flagged' ? FLAGGED_SENTENCE : inner.explain(verdict)),
  };
}
