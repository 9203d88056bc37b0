import type { Averager, AveragingContext } from '../averaging/strategy.ts';
import { noiseShape } from '../reading/noiseShape.ts';
import { type ResponseReading, readResponse } from '../reading/readResponse.ts';
import type { Scenario } from '../scenario/schema.ts';

/** What was read off an average, and the average itself. */
interface ReadAverage {
  reading: ResponseReading;
  averageUv: Float64Array;
}

/**
 * Reads the average of a lane as it stands: peaks and figures with their uncertainty.
 *
 * The noise has the shape of the half-difference of the lane's split buffers, and the size of the lane's own claim: a
 * rosy claim makes rosy uncertainties.
 *
 * @param rectifiedUv - mean rectified activity before the stimulus, µV; NaN for none
 */
export function readAverage(
  scenario: Scenario,
  context: AveragingContext,
  averager: Pick<Averager, 'read' | 'readPair' | 'ownNoiseUv'>,
  rectifiedUv: number,
): ReadAverage {
  const { samplesPerSweep, analysisFrom, analysisTo, sampleRateHz } = context;
  const averageUv = new Float64Array(samplesPerSweep);
  const bufferAUv = new Float64Array(samplesPerSweep);
  const bufferBUv = new Float64Array(samplesPerSweep);
  averager.read(averageUv);
  averager.readPair(bufferAUv, bufferBUv);
  const halfUv = bufferAUv.map((value, i) => (value - bufferBUv[i]) / 2);
  const noise = noiseShape(halfUv, analysisFrom, analysisTo, sampleRateHz, averager.ownNoiseUv());
  return { reading: readResponse(scenario, averageUv, { ...context, rectifiedUv }, noise), averageUv };
}
