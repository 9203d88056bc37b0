import { noiseSources } from '../../core/noise/index.ts';
import { scenarioStages } from '../../core/scenario/resolve.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import { averagingContext, startSession } from '../../core/session/session.ts';

/** One source's part in one sweep. */
export interface MixPart {
  id: string;
  label: string;
  /** Size within the whole sweep, µV rms, behind the filters. */
  rmsUv: number;
  samplesUv: Float32Array;
}

/**
 * Takes one sweep apart: the response, and every source alone through the linear part of the same chain.
 *
 * What an overload added is the remainder. Costs one run up to the sweep for each source.
 *
 * @param index - number of the sweep, from 0
 * @returns a generator of progress 0 … 1, then the parts, largest first
 */
export function* sweepMix(scenario: Scenario, seed: string, index: number): Generator<number, MixPart[]> {
  const channel = scenario.averaging.channel === 'ipsilateral' ? 0 : 1;
  const muted: readonly string[] = scenario.session.mute;
  const stages = scenarioStages(scenario);
  const sources = noiseSources.filter(
    ({ id, create }) => !muted.includes(id) && stages.some((stage) => create(stage.scenario, seed) !== null),
  );
  const runCount = sources.length + 1;
  const { samplesPerSweep } = averagingContext(scenario);

  /** One sweep of one run. */
  function* sweepOf(onlySource: string | null, run: number) {
    const session = startSession(scenario, seed, 1024, onlySource);
    for (let k = 0; k <= index; k++) {
      const sweep = session.nextSweep();
      if (!sweep) throw new RangeError(`sweepMix: index must be a sweep of the session, got ${index}`);
      if (k === index) return sweep;
      if (k % 200 === 199) yield (run + k / (index + 1)) / runCount;
    }
    throw new RangeError(`sweepMix: index must be >= 0, got ${index}`);
  }

  const whole = yield* sweepOf(null, 0);
  const remainderUv = Float64Array.from(whole.recordedUv[channel], (value, i) => value - whole.truthUv[channel][i]);
  const parts = [part('response', 'Response', whole.truthUv[channel])];
  for (const [k, { id, label }] of sources.entries()) {
    const alone = yield* sweepOf(id, k + 1);
    const samplesUv = alone.recordedUv[channel];
    for (let i = 0; i < samplesPerSweep; i++) remainderUv[i] -= samplesUv[i];
    parts.push(part(id, label, samplesUv));
  }
  parts.push(part('remainder', 'Clipping, rounding, firing', remainderUv));
  return parts.sort((a, b) => b.rmsUv - a.rmsUv);
}

function part(id: string, label: string, samplesUv: Float64Array): MixPart {
  let sum = 0;
  for (const value of samplesUv) sum += value * value;
  return { id, label, rmsUv: Math.sqrt(sum / samplesUv.length), samplesUv: Float32Array.from(samplesUv) };
}
