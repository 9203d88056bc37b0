import { exp, log } from '../core/elementary.ts';
import { type Gathered, valuesOfMeasure } from './gathered.ts';
import type { Measure } from './measures.ts';
import { conditionNumbers, type StudyPlan } from './plan.ts';
import { bootstrap, type Interval } from './statistics/bootstrap.ts';
import { centreOf } from './statistics/centre.ts';

/** How much a figure changes from the low end of one thing to its high end: one bar of a tornado. */
export interface Sensitivity {
  path: string;
  setting: number;
  /** `lower third → upper third` of what was drawn, or lowest → highest of what was varied. */
  contrast: string;
  /** Ratio or difference high/low, with its interval; the rest of the patients differ as they did. */
  effect: Interval;
  isRatio: boolean;
}

/**
 * Asks which thing about the patients matters most: each drawn or varied number on its own, the largest effect first.
 */
export function sensitivities(plan: StudyPlan, gathered: Gathered, measure: Measure, setting: number): Sensitivity[] {
  const train = conditionNumbers(plan, 'train');
  const runs = train.flatMap((condition) => runsOf(plan, gathered, measure, condition, setting));
  const paths = [...new Set(runs.flatMap(({ inputs }) => Object.keys(inputs)))];
  const isRatio = measure.scale === 'log';
  const found = paths.flatMap((path) => {
    const own = runs.filter(({ inputs, value }) => typeof inputs[path] === 'number' && !Number.isNaN(value));
    const values = own.map(({ inputs }) => inputs[path] as number);
    const sorted = [...values].sort((a, b) => a - b);
    const isDrawn = new Set(values).size > 6;
    const lowEnd = isDrawn ? sorted[Math.floor(sorted.length / 3)] : sorted[0];
    const highEnd = isDrawn ? sorted[Math.ceil((2 * sorted.length) / 3) - 1] : sorted[sorted.length - 1];
    if (!(lowEnd < highEnd)) return [];
    const scaled = own.map(({ value }) => (isRatio ? log(value) : value));
    // A patient has the same seed in every condition: patients are drawn again, not runs.
    const patients = [...new Set(own.map(({ replicate }) => replicate))].map((replicate) => {
      const places = own.flatMap((run, k) => (run.replicate === replicate ? [k] : []));
      return { low: places.filter((k) => values[k] <= lowEnd), high: places.filter((k) => values[k] >= highEnd) };
    });
    const difference = bootstrap(patients.length, (chosen) => {
      const low: number[] = [];
      const high: number[] = [];
      for (const k of chosen) {
        low.push(...patients[k].low);
        high.push(...patients[k].high);
      }
      return centreOf('mean', scaled, high) - centreOf('mean', scaled, low);
    });
    const effect = isRatio
      ? { value: exp(difference.value), low: exp(difference.low), high: exp(difference.high) }
      : difference;
    const short = (value: number) => Number(value.toPrecision(3));
    const contrast = isDrawn ? `≤ ${short(lowEnd)} → ≥ ${short(highEnd)}` : `${short(lowEnd)} → ${short(highEnd)}`;
    return [{ path, setting, contrast, effect, isRatio, size: Math.abs(difference.value) }];
  });
  return found.sort((a, b) => b.size - a.size).map(({ size: _, ...rest }) => rest);
}

function runsOf(plan: StudyPlan, gathered: Gathered, measure: Measure, condition: number, setting: number) {
  const cell = gathered.cell(condition, setting);
  const values = valuesOfMeasure(cell, measure);
  const drawn = new Map(gathered.drawn(condition).map((entry) => [entry.replicate, entry.values]));
  return Array.from(cell.replicates, (replicate, k) => ({
    replicate,
    value: values[k],
    inputs: { ...plan.conditions[condition].varied, ...drawn.get(replicate) },
  }));
}
