import type { StudyPlan } from '../plan.ts';
import type { StudySummary } from '../summary.ts';
import type { Cell } from './columns.ts';

/** Every setting in every condition, and every paired comparison: one table, told apart by `kind`. */
export function summaryRows(plan: StudyPlan, summary: StudySummary, version: string): Cell[][] {
  const start = [plan.study.id, plan.hash, version];
  const cells = summary.cells.flatMap(({ condition, setting, count, measures, catastrophe }) => {
    const { part, id } = plan.conditions[condition];
    const own = [...start, 'cell', part, id, plan.settings[setting].id];
    const rate = catastrophe;
    return [
      ...plan.measures.map(({ column, centre }, k): Cell[] => {
        const { value, low, high } = measures[k];
        return [...own, column, centre, value, low, high, count, null, null];
      }),
      [...own, 'catastrophe', 'rate', rate.value, rate.low, rate.high, count, null, null] as Cell[],
    ];
  });
  const comparisons = summary.comparisons.map((entry): Cell[] => {
    const { measure, part, condition, setting, effect, isRatio, count, p, adjustedP } = entry;
    const where = condition === null ? 'all' : plan.conditions[condition].id;
    const kind = isRatio ? 'ratio' : 'difference';
    const own = [...start, 'paired', part, where, plan.settings[setting].id];
    return [...own, measure.column, kind, effect.value, effect.low, effect.high, count, p, adjustedP];
  });
  const header = ['study', 'studyHash', 'version', 'kind', 'part', 'condition', 'setting', 'measure', 'statistic'];
  return [[...header, 'value', 'low', 'high', 'patients', 'p', 'adjustedP'], ...cells, ...comparisons];
}
