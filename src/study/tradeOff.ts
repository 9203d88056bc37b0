import { type Gathered, valuesOfMeasure } from './gathered.ts';
import { studyMeasure } from './measures.ts';
import { resamples } from './statistics/bootstrap.ts';
import { cloudEllipse, type Ellipse, paretoFront } from './statistics/pareto.ts';

/** One setting between speed, truth and safety, over all train conditions. */
export interface TradeOff {
  setting: number;
  /** Mean time to target, s; runs that never arrive count as the whole session. */
  secondsToTarget: number;
  /** |mean gain − 1|. */
  bias: number;
  catastropheRate: number;
  onFront: boolean;
  /** Share of 1000 resamples of the patients in which it is on the front. */
  frontShare: number;
  /** 95 % of the resampled (seconds, bias) lie within. */
  ellipse: Ellipse;
}

const MOST_SETTINGS = 100;

interface PatientFigures {
  seconds: number[];
  gain: number[];
  catastrophe: number[];
}

/**
 * Weighs time to target, bias and catastrophic rate against each other: the front, and how certain each place on it is.
 *
 * Patients are resampled for all settings at once, since all of them got the same sweeps. With many settings only the
 * best 100 by the study's own rule take part.
 */
export function tradeOffs(gathered: Gathered, conditions: readonly number[], ranked: readonly number[]): TradeOff[] {
  const settings = ranked.slice(0, MOST_SETTINGS);
  const figures = settings.map((setting) => patientFigures(gathered, conditions, setting));
  const count = Math.min(...figures.map(({ seconds }) => seconds.length));
  if (settings.length === 0 || count === 0) return [];
  const everyone = Uint32Array.from({ length: count }, (_, k) => k);
  const points = figures.map((own) => pointOf(own, everyone));
  const onFront = paretoFront(points);
  const frontCounts = settings.map(() => 0);
  const clouds = settings.map(() => ({ seconds: [] as number[], bias: [] as number[] }));
  let resampleCount = 0;
  for (const chosen of resamples(count)) {
    const drawn = figures.map((own) => pointOf(own, chosen));
    resampleCount++;
    for (const [k, isOn] of paretoFront(drawn).entries()) if (isOn) frontCounts[k]++;
    for (const [k, [seconds, bias]] of drawn.entries()) {
      clouds[k].seconds.push(seconds);
      clouds[k].bias.push(bias);
    }
  }
  return settings.map((setting, k) => ({
    setting,
    secondsToTarget: points[k][0],
    bias: points[k][1],
    catastropheRate: points[k][2],
    onFront: onFront[k],
    frontShare: frontCounts[k] / resampleCount,
    ellipse: cloudEllipse(clouds[k].seconds, clouds[k].bias),
  }));
}

/** Means over the conditions, patient by patient; only patients that every condition has. */
function patientFigures(gathered: Gathered, conditions: readonly number[], setting: number): PatientFigures {
  const cells = conditions.map((condition) => gathered.cell(condition, setting));
  const count = Math.min(...cells.map(({ replicates }) => replicates.length));
  const over = (values: ArrayLike<number>[]) =>
    Array.from({ length: count }, (_, k) => values.reduce((sum, own) => sum + own[k], 0) / values.length);
  return {
    seconds: over(cells.map((cell) => valuesOfMeasure(cell, studyMeasure('seconds-to-target')))),
    gain: over(cells.map((cell) => valuesOfMeasure(cell, studyMeasure('gain')))),
    catastrophe: over(cells.map(({ catastrophes }) => catastrophes)),
  };
}

function pointOf({ seconds, gain, catastrophe }: PatientFigures, chosen: ArrayLike<number>): [number, number, number] {
  let secondsSum = 0;
  let gainSum = 0;
  let catastropheSum = 0;
  for (let k = 0; k < chosen.length; k++) {
    secondsSum += seconds[chosen[k]];
    gainSum += gain[chosen[k]];
    catastropheSum += catastrophe[chosen[k]];
  }
  const bias = Math.abs(gainSum / chosen.length - 1);
  // A silent ear has no gain: nothing can be biased.
  return [secondsSum / chosen.length, Number.isNaN(bias) ? 0 : bias, catastropheSum / chosen.length];
}
