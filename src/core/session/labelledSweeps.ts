import { muteIds, noiseIds } from '../scenario/noiseIds.ts';
import type { Scenario } from '../scenario/schema.ts';
import { averagingContext, startSession } from './session.ts';

/** What the generator knows of one sweep: `LabelledSweep` of `weightQuality` without the weight. */
export interface SweepLabel {
  noiseUv: number;
  calmNoiseUv: number;
  disturbanceUv: number;
}

/**
 * Labels every sweep of a run with its true noise, and with what a disturbance adds to it.
 *
 *     noise = rms(recorded − noise-free response);   disturbance = rms(recorded − recorded without the disturbance)
 *
 * Two runs of the same patient side by side, one with the disturbance muted: all other draws stay as they were. Clipping
 * that the disturbance causes counts to it. Over the analysis window, in the channel of the strategies.
 *
 * @param disturbances - ids of noise sources, e.g. muscle and child   @throws {RangeError} for an unknown source
 */
export function labelledSweeps(scenario: Scenario, seed: string, disturbances: readonly string[]): SweepLabel[] {
  const known: readonly string[] = noiseIds;
  const stray = disturbances.find((id) => !known.includes(id));
  if (stray !== undefined) {
    throw new RangeError(`labelledSweeps: disturbances must be of ${known.join(', ')}, got ${stray}`);
  }
  const { analysisFrom, analysisTo } = averagingContext(scenario);
  const channel = scenario.averaging.channel === 'ipsilateral' ? 0 : 1;
  const mute = muteIds.filter(
    (id) => disturbances.includes(id) || (scenario.session.mute as readonly string[]).includes(id),
  );
  const disturbed = startSession(scenario, seed);
  const calm = startSession({ ...scenario, session: { ...scenario.session, mute } }, seed);
  const rmsDifference = (a: Float64Array, b: Float64Array) => {
    let sum = 0;
    for (let i = analysisFrom; i < analysisTo; i++) sum += (a[i] - b[i]) * (a[i] - b[i]);
    return Math.sqrt(sum / (analysisTo - analysisFrom));
  };
  const labels: SweepLabel[] = [];
  for (let sweep = disturbed.nextSweep(); sweep; sweep = disturbed.nextSweep()) {
    const other = calm.nextSweep();
    if (!other) break;
    const recordedUv = sweep.recordedUv[channel];
    labels.push({
      noiseUv: rmsDifference(recordedUv, sweep.truthUv[channel]),
      calmNoiseUv: rmsDifference(other.recordedUv[channel], other.truthUv[channel]),
      disturbanceUv: rmsDifference(recordedUv, other.recordedUv[channel]),
    });
  }
  return labels;
}
