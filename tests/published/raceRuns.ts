import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import { type LaneSetting, openLane } from '../../src/core/session/lanes.ts';
import { runningTruth } from '../../src/core/session/runningTruth.ts';
import { averagingContext, startSession } from '../../src/core/session/session.ts';

/** Ends of one run: the error of each lane, µV per sample of the analysis window, at each of the sweep counts. */
export function laneErrors(
  document: object,
  seed: string,
  settings: LaneSetting[],
  counts: number[],
): Float64Array[][] {
  const scenario = resolveScenario(document);
  const context = averagingContext(scenario);
  const session = startSession(scenario, seed);
  const lanes = settings.map((setting) => openLane(setting, context));
  const truth = runningTruth(context.samplesPerSweep);
  const truthUv = new Float64Array(context.samplesPerSweep);
  const estimateUv = new Float64Array(context.samplesPerSweep);
  const errors: Float64Array[][] = [];
  let done = 0;
  for (let sweep = session.nextSweep(); sweep && errors.length < counts.length; sweep = session.nextSweep()) {
    const { index, timeS, polarity } = sweep;
    for (const { averager } of lanes) {
      averager.add(sweep.recordedUv[0], { index, timeS, polarity, overRange: sweep.overRange[0] });
    }
    truth.add(sweep.truthUv[0]);
    done++;
    if (done !== counts[errors.length]) continue;
    truth.read(truthUv);
    errors.push(
      lanes.map(({ averager }) => {
        averager.read(estimateUv);
        return estimateUv.map((value, i) => value - truthUv[i]).slice(context.analysisFrom, context.analysisTo);
      }),
    );
  }
  return errors;
}

export const rms = (values: ArrayLike<number>): number =>
  Math.sqrt(Array.from(values).reduce((sum, value) => sum + value * value, 0) / values.length);

export const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;

/** Standard deviation with n − 1. */
export function deviation(values: readonly number[]): number {
  const middle = mean(values);
  return Math.sqrt(values.reduce((sum, value) => sum + (value - middle) ** 2, 0) / (values.length - 1));
}
