import { log } from '../core/elementary.ts';
import { changesResponse } from '../core/quality/amplitudeGain.ts';
import { type Gathered, valuesOfMeasure } from './gathered.ts';
import { type Measure, studyMeasure } from './measures.ts';
import { conditionNumbers, type StudyPlan } from './plan.ts';
import { bootstrap } from './statistics/bootstrap.ts';
import { centreOf, everyOne } from './statistics/centre.ts';

/** How well one setting does over the train conditions. */
export interface Score {
  setting: number;
  /** Mean over conditions of the distance from the ideal; small is good. Infinity where a run gave nothing. */
  score: number;
  /** Whether it leaves the response its size in every train condition. */
  keepsResponse: boolean;
}

/**
 * Ranks settings by the study's own rule, the best first.
 *
 *     score = mean over train conditions of d(centre over replicates)
 *     d = ln x for ratios, x otherwise, −x where more is better, |ln x| or |x − 1| where 1 is right
 *
 * Settings that change the response (the whole interval of the gain outside 0.95 … 1.05 in any train condition) come
 * after all others, unless the study says otherwise.
 */
export function rankSettings(plan: StudyPlan, gathered: Gathered, settings: readonly number[]): Score[] {
  const train = conditionNumbers(plan, 'train');
  const { measure, keepsResponse: matters } = plan.choose;
  const scores = settings.map((setting) => {
    const distances = train.map((condition) => {
      const values = valuesOfMeasure(gathered.cell(condition, setting), measure);
      return distance(measure, centreOf(measure.centre, values, everyOne(values.length)));
    });
    const score = distances.reduce((sum, value) => sum + value, 0) / distances.length;
    const keepsResponse = train.every((condition) => keepsIn(gathered, condition, setting));
    return { setting, score: Number.isNaN(score) ? Infinity : score, keepsResponse };
  });
  return scores.sort((a, b) => {
    if (matters && a.keepsResponse !== b.keepsResponse) return a.keepsResponse ? -1 : 1;
    return a.score === b.score ? a.setting - b.setting : a.score - b.score;
  });
}

/** How far a figure is from the ideal, on the scale on which differences count. */
function distance({ better, scale }: Measure, value: number): number {
  const scaled = scale === 'log' ? log(value) : value;
  if (better === 'lower') return scaled;
  if (better === 'higher') return -scaled;
  return Math.abs(scale === 'log' ? scaled : value - 1);
}

function keepsIn(gathered: Gathered, condition: number, setting: number): boolean {
  const gains = valuesOfMeasure(gathered.cell(condition, setting), studyMeasure('gain'));
  return !changesResponse(bootstrap(gains.length, (chosen) => centreOf('mean', gains, chosen)));
}
