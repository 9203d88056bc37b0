import type {
  Averager,
  AveragingContext,
  SweepMeta,
  SweepVerdict,
  VerdictListener,
  WeightReason,
} from '../../core/averaging/strategy.ts';
import type { SandboxLine } from './sandboxLine.ts';

const LEAST_CLAIM = 1e-3; // our choice: far below what any weighting of the sweeps can reach

/** The other end of an averager in a sandbox. */
export interface OutsideAveragerOrder {
  line: SandboxLine;
  key: number;
  context: AveragingContext;
  listener: VerdictListener;
  limitMs: number;
  /** It has a `settle`. */
  settles: boolean;
}

/**
 * An averager in a sandbox, called through its line.
 *
 * Every answer is looked at before the lab takes it: numbers that no average, count or claim can have end the strategy
 * with one sentence that names it, the call and the sweep.
 *
 * @throws {UsageError} in each method: strategy, call, sweep, rule and value
 */
export function outsideAverager({ line, key, context, listener, limitMs, settles }: OutsideAveragerOrder): Averager {
  const { samplesPerSweep: length } = context;
  const offered = new Set<number>();
  const told = new Set<number>();
  const noise = leastNoise(context);
  let sweep = 'before the first sweep';

  function refuse(call: string, rule: string, value: unknown): never {
    return line.fail(`${call} ${sweep}`, `${rule}, got ${String(value)}`);
  }

  function ask(call: string, more: object = {}) {
    const answer = line.ask(`${call} ${sweep}`, { call, key, ...more }, limitMs);
    for (const text of answer.verdicts) {
      const verdict = verdictOf(text);
      const { index, weight, fade } = verdict;
      if (!offered.has(index)) refuse(call, 'a verdict must be on a sweep that was offered', index);
      if (told.has(index)) refuse(call, 'a sweep must have one verdict', `a second one on sweep ${index}`);
      if (!(weight >= 0 && weight < Infinity))
        refuse(call, 'the weight of a verdict must be finite and 0 or more', weight);
      if (!(fade > 0 && fade <= 1)) refuse(call, 'the fade of a verdict must be above 0 and at most 1', fade);
      told.add(index);
      listener(verdict);
    }
    return answer;
  }

  function count(call: 'usedCount' | 'effectiveCount'): number {
    const value = Number(ask(call).answer);
    const fits = value >= 0 && value <= offered.size * (1 + 1e-9);
    if (!fits) refuse(call, `must be from 0 to the ${offered.size} sweeps offered`, value);
    if (call === 'usedCount' && !Number.isInteger(value)) refuse(call, 'must be a whole number', value);
    return value;
  }

  /** NaN is what an average is as long as no sweep counts. */
  function checked(call: string, averageUv: Float64Array): Float64Array {
    const k = averageUv.findIndex((value) => !Number.isFinite(value));
    if (k < 0) return averageUv;
    const value = averageUv[k];
    if (!averageUv.every(Number.isNaN)) refuse(call, 'must give finite numbers', `${value} at sample ${k}`);
    return averageUv;
  }

  const averager: Averager = {
    add(sweepUv: Float64Array, { interval, ...meta }: Readonly<SweepMeta>) {
      sweep = `at sweep ${meta.index}`;
      offered.add(meta.index);
      noise.add(sweepUv);
      const heard = interval ? { two: String(interval.firstSample), intervalUv: interval.samplesUv } : {};
      ask('add', { one: JSON.stringify(meta), sweepUv, ...heard });
    },
    read(outUv) {
      const averageUv = checked('read', ask('read', { wants: 1, length }).outputs[0]);
      if (Number.isNaN(averageUv[0]) && count('usedCount') > 0) {
        refuse('read', 'must give numbers once a sweep is used', 'NaN');
      }
      outUv.set(averageUv);
    },
    readPair(outAUv, outBUv) {
      const [a, b] = ask('readPair', { wants: 2, length }).outputs;
      outAUv.set(checked('readPair', a));
      outBUv.set(checked('readPair', b));
    },
    ownNoiseUv() {
      const value = Number(ask('ownNoiseUv').answer);
      if (!(Number.isNaN(value) || (value >= 0 && value < Infinity))) {
        refuse('ownNoiseUv', 'must be a finite number of µV, 0 or more, or NaN while it cannot tell', value);
      }
      const least = LEAST_CLAIM * noise.ofMeanUv();
      if (value < least)
        refuse('ownNoiseUv', `must not be below ${least.toPrecision(2)} µV, as no average can be`, value);
      return value;
    },
    usedCount: () => count('usedCount'),
    effectiveCount: () => count('effectiveCount'),
    heldBytes: () => Number(ask('heldBytes').answer),
    release: () => line.tell({ call: 'forget', key }),
  };
  if (settles) {
    averager.settle = () => {
      told.clear(); // all verdicts are told anew
      ask('settle');
    };
  }
  return averager;
}

/**
 * The noise that would be left if every sweep were as quiet as the quietest.
 *
 *     √(min_k mean (x_k − x_{k−1})² / 2n), over the analysis window
 *
 * Differences of neighbours, so the response does not count. 0 where two neighbours are alike: nothing is known then.
 */
function leastNoise({ samplesPerSweep, analysisFrom, analysisTo }: AveragingContext) {
  const lastUv = new Float64Array(samplesPerSweep);
  let count = 0;
  let leastUv2 = Infinity;
  return {
    add(sweepUv: Float64Array): void {
      if (count++ > 0) {
        let sum = 0;
        for (let i = analysisFrom; i < analysisTo; i++) sum += (sweepUv[i] - lastUv[i]) * (sweepUv[i] - lastUv[i]);
        leastUv2 = Math.min(leastUv2, sum / (analysisTo - analysisFrom) / 2);
      }
      lastUv.set(sweepUv);
    },
    ofMeanUv: () => (leastUv2 < Infinity ? Math.sqrt(leastUv2 / count) : 0),
  };
}

function verdictOf(text: string): SweepVerdict {
  const [index, weight, fade, reason, measureUv, limitUv] = text.split(',');
  return {
    index: Number(index),
    weight: Number(weight),
    fade: Number(fade),
    reason: reason as WeightReason,
    measureUv: Number(measureUv),
    limitUv: Number(limitUv),
  };
}
