import { finalShares } from '../averaging/finalShares.ts';
import type { AveragingStrategy, SweepVerdict } from '../averaging/strategy.ts';
import { residualNoiseUv } from '../quality/residualNoise.ts';
import type { Scenario } from '../scenario/schema.ts';
import { presentationCount } from '../stimulus/schedule.ts';
import { laneField } from './laneField.ts';
import { type LaneSetting, laneName } from './lanes.ts';
import { averagingContext, startSession, sweepMeta } from './session.ts';

/** What one lane did with one sweep. */
interface LaneExplanation {
  name: string;
  /** Share of the sweep in the average at the end, in units of an equal share; 0 if it does not count. */
  share: number;
  /** The strategy's own words. */
  sentence: string;
}

/** One sweep, and what every lane made of it. */
export interface SweepExplanation {
  index: number;
  timeS: number;
  polarity: 1 | -1;
  overRange: boolean;
  /** Recorded less noise-free response, µV rms over the analysis window; `usualNoiseUv` is the median over the run. */
  trueNoiseUv: number;
  usualNoiseUv: number;
  lanes: LaneExplanation[];
}

/** Why there is no verdict. @param offered - sweeps from this one on, itself included */
function untold(
  { timing, longestWait }: AveragingStrategy<never>,
  { parameters }: LaneSetting,
  offered: number,
): string {
  const longest = longestWait?.(parameters as never) ?? parameters.blockLength ?? 0;
  const mayWait = timing === 'delayed' && offered <= longest;
  return mayWait ? 'Still waiting when the session ended.' : 'It never told what it made of this sweep.';
}

/**
 * Runs one patient and tells why each lane weighted a sweep as it did.
 *
 * @param index - number of the sweep, from 0
 * @throws {RangeError} if the session has no such sweep
 */
export function explainSweep(
  scenario: Scenario,
  seed: string,
  settings: readonly LaneSetting[],
  index: number,
  outside: readonly AveragingStrategy[] = [],
): SweepExplanation {
  const count = presentationCount(scenario);
  if (!(Number.isInteger(index) && index >= 0 && index < count)) {
    throw new RangeError(`explainSweep: sweep must be a whole number from 0 to ${count - 1}, got ${index}`);
  }
  const context = averagingContext(scenario);
  const channel = scenario.averaging.channel === 'ipsilateral' ? 0 : 1;
  const verdicts = settings.map(() => [] as SweepVerdict[]);
  const field = laneField(
    settings,
    context,
    verdicts.map((list) => (verdict) => void list.push({ ...verdict })),
    outside,
  );
  const session = startSession(scenario, seed);
  const noisesUv: number[] = [];
  let found = { index, timeS: 0, polarity: 1 as 1 | -1, overRange: false };
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
    const recordedUv = sweep.recordedUv[channel];
    field.add(recordedUv, sweepMeta(sweep, channel, field));
    noisesUv.push(residualNoiseUv(recordedUv, sweep.truthUv[channel], context.analysisFrom, context.analysisTo));
    const { timeS, polarity } = sweep;
    if (sweep.index === index) found = { index, timeS, polarity, overRange: sweep.overRange[channel] };
  }
  const lanes = field.finish();
  return {
    ...found,
    trueNoiseUv: noisesUv[index],
    usualNoiseUv: [...noisesUv].sort((a, b) => a - b)[noisesUv.length >> 1],
    lanes: settings.map((setting, lane) => {
      const verdict = verdicts[lane].find((one) => one.index === index);
      return {
        name: laneName(setting, outside),
        share: count * finalShares(verdicts[lane], count)[index],
        sentence: verdict
          ? lanes[lane].strategy.explain(verdict)
          : untold(lanes[lane].strategy, setting, count - index),
      };
    }),
  };
}
