import { exp, log } from '../core/elementary.ts';
import { type Gathered, valuesOfMeasure } from './gathered.ts';
import type { Measure } from './measures.ts';
import type { StudyPlan } from './plan.ts';
import { bootstrap, type Interval } from './statistics/bootstrap.ts';
import { centreOf } from './statistics/centre.ts';
import { holm } from './statistics/holm.ts';
import { signedRank } from './statistics/wilcoxon.ts';

/** One setting against the reference, on the same patients. */
export interface Comparison {
  measure: Measure;
  part: 'train' | 'test';
  /** Number of the condition; null for all of the part together. */
  condition: number | null;
  setting: number;
  /** Mean difference, or geometric mean of the ratio where the measure's scale is logarithmic. */
  effect: Interval;
  isRatio: boolean;
  /** Patients on whom both figures are known. */
  count: number;
  p: number;
  /** p adjusted for all settings compared in this measure and condition. */
  adjustedP: number;
}

/**
 * Compares settings with the reference in pairs: the same patient, the same sweeps.
 *
 * Over several conditions, each patient counts once, with the mean of its differences: a patient has the same seed in
 * every condition, so its runs are no independent ones.
 *
 * @param settings - numbers of the settings to compare; the reference itself is left out
 */
export function compareSettings(
  plan: StudyPlan,
  gathered: Gathered,
  measure: Measure,
  part: 'train' | 'test',
  conditions: readonly number[],
  settings: readonly number[],
): Comparison[] {
  const others = settings.filter((setting) => setting !== plan.reference);
  const results = others.map((setting) => {
    const differences = pairedDifferences(plan, gathered, measure, conditions, setting);
    const values = [...differences.values()].filter((value) => !Number.isNaN(value));
    const mean = bootstrap(values.length, (chosen) => centreOf('mean', values, chosen));
    const isRatio = measure.scale === 'log';
    const effect = isRatio ? { value: exp(mean.value), low: exp(mean.low), high: exp(mean.high) } : mean;
    const condition = conditions.length === 1 ? conditions[0] : null;
    return { measure, part, condition, setting, effect, isRatio, count: values.length, p: signedRank(values).p };
  });
  const adjusted = holm(results.map(({ p }) => p));
  return results.map((result, k) => ({ ...result, adjustedP: adjusted[k] }));
}

/** The mean difference of each patient, by replicate: setting less reference, or the logarithm of their ratio. */
function pairedDifferences(
  plan: StudyPlan,
  gathered: Gathered,
  measure: Measure,
  conditions: readonly number[],
  setting: number,
): Map<number, number> {
  const sums = new Map<number, { sum: number; count: number }>();
  for (const condition of conditions) {
    const cell = gathered.cell(condition, setting);
    const referenceCell = gathered.cell(condition, plan.reference);
    const values = valuesOfMeasure(cell, measure);
    const referenceValues = valuesOfMeasure(referenceCell, measure);
    const places = new Map(Array.from(referenceCell.replicates, (replicate, k) => [replicate, k]));
    for (const [k, replicate] of cell.replicates.entries()) {
      const place = places.get(replicate);
      if (place === undefined) continue;
      const [own, other] = [values[k], referenceValues[place]];
      const difference = measure.scale === 'log' ? log(own / other) : own - other;
      const entry = sums.get(replicate) ?? { sum: 0, count: 0 };
      sums.set(replicate, { sum: entry.sum + difference, count: entry.count + 1 });
    }
  }
  // Only patients that were recorded in every condition: the mean of others would be over easier or harder ones.
  return new Map(
    [...sums]
      .filter(([, { count }]) => count === conditions.length)
      .map(([replicate, { sum, count }]) => [replicate, sum / count]),
  );
}
