import type { AveragingStrategy } from '../averaging/strategy.ts';
import { splitCorrelation } from '../quality/splitCorrelation.ts';
import { meanRectifiedUv } from '../reading/muscleFigures.ts';
import { NO_NOISE, noiseShape } from '../reading/noiseShape.ts';
import { type PeakError, peakErrors } from '../reading/peakErrors.ts';
import { type ResponseReading, readResponse } from '../reading/readResponse.ts';
import type { Scenario } from '../scenario/schema.ts';
import { chosenTruth } from './chosenTruth.ts';
import { laneField } from './laneField.ts';
import type { LaneSetting } from './lanes.ts';
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
 * The noise has the shape of the half-difference of the lane's split buffers, and the size of the lane's own claim: a rosy
 * claim makes rosy uncertainties. Costs one run.
 *
 * @param outside - strategies that are not the lab's own   @returns a generator of progress 0 … 1, then the readings
 */
export function* laneReadings(
  scenario: Scenario,
  seed: string,
  settings: readonly LaneSetting[],
  outside: readonly AveragingStrategy[] = [],
): Generator<number, LaneReadings> {
  const context = averagingContext(scenario);
  const channel = scenario.averaging.channel === 'ipsilateral' ? 0 : 1;
  const { samplesPerSweep, preSampleCount, analysisFrom, analysisTo, sampleRateHz } = context;
  const session = startSession(scenario, seed);
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
  const reading = { ...context, rectifiedUv };
  const truthUv = new Float64Array(samplesPerSweep);
  truth.read(truthUv);
  const real = readResponse(scenario, truthUv, reading, NO_NOISE);
  const lanes = field.finish().map(({ averager }, k) => {
    const averageUv = new Float64Array(samplesPerSweep);
    const bufferAUv = new Float64Array(samplesPerSweep);
    const bufferBUv = new Float64Array(samplesPerSweep);
    averager.read(averageUv);
    averager.readPair(bufferAUv, bufferBUv);
    const halfUv = bufferAUv.map((value, i) => (value - bufferBUv[i]) / 2);
    const noise = noiseShape(halfUv, analysisFrom, analysisTo, sampleRateHz, averager.ownNoiseUv());
    const read = readResponse(scenario, averageUv, reading, noise);
    const shapeCorrelation = splitCorrelation(averageUv, truthUv, analysisFrom, analysisTo);
    return { ...settings[k], reading: read, errors: peakErrors(read.peaks, real.peaks), shapeCorrelation };
  });
  return { lanes, truth: real, rectifiedUv };
}
