import type { AveragingStrategy } from '../averaging/strategy.ts';
import type { PlayingNoise } from '../noise/noiseSource.ts';
import { splitCorrelation } from '../quality/splitCorrelation.ts';
import { meanRectifiedUv } from '../reading/muscleFigures.ts';
import { NO_NOISE } from '../reading/noiseShape.ts';
import { type PeakError, peakErrors } from '../reading/peakErrors.ts';
import { type ResponseReading, readResponse } from '../reading/readResponse.ts';
import type { Scenario } from '../scenario/schema.ts';
import { chosenTruth } from './chosenTruth.ts';
import { laneField } from './laneField.ts';
import type { LaneSetting } from './lanes.ts';
import { readAverage } from './readAverage.ts';
import { averagingContext, startSession, sweepMeta } from './session.ts';

/** What was read off one lane's average at the end, and how far it is from the truth. */
interface ReadLane extends LaneSetting {
  reading: ResponseReading;
  /** For each peak that the truth has too. */
  errors: PeakError[];
  /** Correlation of the average with the truth over the analysis window: the shape alone, whatever the size. */
  shapeCorrelation: number;
}

/** The readings of one run. */
export interface LaneReadings {
  lanes: ReadLane[];
  /** The truth, read by the same rules, without noise. */
  truth: ResponseReading;
  /** Mean rectified activity before the stimulus, over all sweeps, µV: what corrected sizes are divided by. NaN for none. */
  rectifiedUv: number;
}

/**
 * Runs one patient past all lanes and reads their final averages: peaks, intervals and ratios with their uncertainty.
 *
 * `readAverage.ts` says how uncertain. Costs one run.
 *
 * @param outside - strategies that are not the lab's own   @param background - real noise instead of the simulated
 * @returns a generator of progress 0 … 1, then the readings
 */
export function* laneReadings(
  scenario: Scenario,
  seed: string,
  settings: readonly LaneSetting[],
  outside: readonly AveragingStrategy[] = [],
  background?: (seed: string) => PlayingNoise,
): Generator<number, LaneReadings> {
  const context = averagingContext(scenario);
  const channel = scenario.averaging.channel === 'ipsilateral' ? 0 : 1;
  const { samplesPerSweep, preSampleCount, analysisFrom, analysisTo } = context;
  const session = startSession(scenario, seed, 1024, null, background?.(seed) ?? null);
  const field = laneField(settings, context, [], outside);
  const truth = chosenTruth(scenario, seed, channel);
  let rectifiedSumUv = 0;
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
    const recordedUv = sweep.recordedUv[channel];
    field.add(recordedUv, sweepMeta(sweep, channel, field));
    truth.add(sweep.truthUv[channel], recordedUv);
    rectifiedSumUv += meanRectifiedUv(recordedUv, preSampleCount);
    if (sweep.index % 500 === 499) yield sweep.index / session.sweepCount;
  }
  const rectifiedUv = rectifiedSumUv / session.sweepCount;
  const truthUv = new Float64Array(samplesPerSweep);
  truth.read(truthUv);
  const real = readResponse(scenario, truthUv, { ...context, rectifiedUv }, NO_NOISE);
  const lanes = field.finish().map(({ averager }, k) => {
    const { reading: read, averageUv } = readAverage(scenario, context, averager, rectifiedUv);
    const shapeCorrelation = splitCorrelation(averageUv, truthUv, analysisFrom, analysisTo);
    return { ...settings[k], reading: read, errors: peakErrors(read.peaks, real.peaks), shapeCorrelation };
  });
  return { lanes, truth: real, rectifiedUv };
}
