import { type AveragingStrategy, type SweepMeta, sumOfSquaresUv2 } from './strategy.ts';
import { verdictTeller } from './verdictTeller.ts';

/** µV, our choice: a million volts is no recording, and its square still leaves digits for everything else. */
const NO_VOLTAGE_UV = 1e12;

/**
 * Wraps a strategy so that a sweep with a sample that is no voltage (not a number, or beyond 10¹² µV) never reaches it.
 *
 * One such sample would stay in every sum for good. The sweep is left out with a verdict that says so; a stretch between
 * sweeps that holds one is withheld, the sweep itself is not. Flagged sweeps pass, since nobody looks into them.
 */
export function finiteOnly<Parameters>(inner: AveragingStrategy<Parameters>): AveragingStrategy<Parameters> {
  return {
    ...inner,
    create(context, parameters, listener) {
      const averager = inner.create(context, parameters, listener);
      const tell = verdictTeller(listener);
      const leftOut: number[] = [];
      const wrapped = {
        ...averager,
        add(sweepUv: Float64Array, meta: Readonly<SweepMeta>) {
          const skipped = context.respectFlags && meta.overRange;
          if (!skipped && !areVoltages(sweepUv)) {
            if (averager.settle) leftOut.push(meta.index);
            else tell(meta.index, 0, 'rejected', NaN, NO_VOLTAGE_UV);
            return;
          }
          if (!meta.interval || areVoltages(meta.interval.samplesUv)) return averager.add(sweepUv, meta);
          const { interval: _withheld, ...plain } = meta;
          averager.add(sweepUv, plain);
        },
      };
      if (!averager.settle) return wrapped;
      return {
        ...wrapped,
        settle() {
          averager.settle?.();
          for (const index of leftOut) tell(index, 0, 'rejected', NaN, NO_VOLTAGE_UV);
        },
      };
    },
    explain: (verdict) =>
      verdict.reason === 'rejected' && verdict.limitUv === NO_VOLTAGE_UV
        ? 'Left out: it holds a value that is no voltage, so nothing can be made of it.'
        : inner.explain(verdict),
  };
}

/** True if every sample is a number, and their sum of squares within the square of the limit. */
function areVoltages(samplesUv: Float64Array): boolean {
  return sumOfSquaresUv2(samplesUv, 0, samplesUv.length) <= NO_VOLTAGE_UV * NO_VOLTAGE_UV; // false for NaN
}
