import type { AveragingStrategy } from '../averaging/strategy.ts';
import type { Scenario } from '../scenario/schema.ts';
import { laneField } from './laneField.ts';
import type { LaneSetting } from './lanes.ts';
import { averagingContext, startSession, sweepMeta } from './session.ts';

/** Averages of one run at its end, µV, by lane. A generator of sweeps done. */
function* finalAverages(
  scenario: Scenario,
  seed: string,
  settings: readonly LaneSetting[],
  outside: readonly AveragingStrategy[],
): Generator<number, Float64Array[]> {
  const context = averagingContext(scenario);
  const channel = scenario.averaging.channel === 'ipsilateral' ? 0 : 1;
  const field = laneField(settings, context, [], outside);
  const session = startSession(scenario, seed);
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
    field.add(sweep.recordedUv[channel], sweepMeta(sweep, channel, field));
    if (sweep.index % 500 === 499) yield sweep.index;
  }
  const estimatesUv = field.finish().map(({ averager }) => {
    const estimateUv = new Float64Array(context.samplesPerSweep);
    averager.read(estimateUv);
    return estimateUv;
  });
  field.release();
  return estimatesUv;
}

/**
 * Says what each source adds to the averages of strategies that are no weighted sums: by running without it.
 *
 *     part = average − average of the same patient without the source
 *
 * The strategy decides anew in each run, so the parts need not add up to the whole.
 *
 * @param ids - noise sources, or 'response' for the response itself   @param averagesUv - of the whole run, by lane
 * @param outside - strategies that are not the lab's own
 * @returns for each id the parts by lane, µV
 */
export function* leaveOneOut(
  scenario: Scenario,
  seed: string,
  settings: readonly LaneSetting[],
  ids: readonly string[],
  averagesUv: readonly Float64Array[],
  outside: readonly AveragingStrategy[] = [],
): Generator<number, Float64Array[][]> {
  const parts: Float64Array[][] = [];
  for (const id of ids) {
    const without = yield* finalAverages(withoutSource(scenario, id), seed, settings, outside);
    parts.push(averagesUv.map((averageUv, lane) => averageUv.map((value, i) => value - without[lane][i])));
  }
  return parts;
}

function withoutSource(scenario: Scenario, id: string): Scenario {
  if (id !== 'response') {
    return { ...scenario, session: { ...scenario.session, mute: [...scenario.session.mute, id as never] } };
  }
  const events = scenario.events.map((event) => {
    const { 'response.amplitudeScale': _size, ...set } = event.set;
    return { ...event, set };
  });
  return { ...scenario, response: { ...scenario.response, amplitudeScale: 0 }, events };
}
