import { type Gathered, valuesOfMeasure } from './gathered.ts';
import { type Measure, studyMeasure } from './measures.ts';
import { conditionNumbers, type StudyPlan } from './plan.ts';
import type { Scalar } from './schema.ts';
import { bootstrap, type Interval } from './statistics/bootstrap.ts';
import { crossing } from './statistics/breakdown.ts';
import { centreOf } from './statistics/centre.ts';

/** One line of a figure: a measure against a number. */
interface Curve {
  label: string;
  points: { x: number; y: Interval }[];
  /** Where the noise has doubled, and where the response is a tenth off; null for never. Breakdown curves only. */
  noiseDoublesAt?: number | null;
  gainIsOffAt?: number | null;
}

/** A measure against a parameter of a strategy, or against something varied in the scenario. */
export interface CurveSet {
  kind: 'parameter' | 'condition';
  /** `blockLength`, or `muscle.durationS`. */
  axis: string;
  measure: Measure;
  /** What all curves have in common, for the title. */
  title: string;
  curves: Curve[];
}

const MOST_CURVES = 12;

/** The measure against each numeric parameter that has 3 values or more: one curve for each condition. */
export function parameterCurves(plan: StudyPlan, gathered: Gathered, measure: Measure): CurveSet[] {
  const names = [...new Set(plan.settings.map(({ strategy }) => strategy))].flatMap((strategy) => {
    const own = plan.settings.filter((setting) => setting.strategy === strategy);
    return numericKeys(own.map(({ parameters }) => parameters)).map((axis) => ({ strategy, axis }));
  });
  return names.map(({ strategy, axis }) => {
    const groups = new Map<string, { x: number; setting: number }[]>();
    for (const [setting, { strategy: own, parameters }] of plan.settings.entries()) {
      if (own !== strategy || typeof parameters[axis] !== 'number') continue;
      const others = exceptFor(parameters, axis);
      groups.set(others, [...(groups.get(others) ?? []), { x: parameters[axis], setting }]);
    }
    const curves = [...groups].flatMap(([others, members]) =>
      conditionNumbers(plan, 'train').map((condition) => ({
        label: [plan.conditions[condition].id, others].filter((word) => word !== '').join(', '),
        points: members
          .map(({ x, setting }) => ({ x, y: centreIn(gathered, condition, setting, measure) }))
          .filter(({ y }) => !Number.isNaN(y.value))
          .sort((a, b) => a.x - b.x),
      })),
    );
    return { kind: 'parameter' as const, axis, measure, title: strategy, curves: curves.slice(0, MOST_CURVES) };
  });
}

/** The measure against each numeric thing that is varied over 3 values or more: one curve for each setting. */
export function breakdownCurves(plan: StudyPlan, gathered: Gathered, measure: Measure, settings: number[]): CurveSet[] {
  const train = conditionNumbers(plan, 'train');
  return numericKeys(train.map((c) => plan.conditions[c].varied)).flatMap((axis) => {
    const groups = new Map<string, { x: number; condition: number }[]>();
    for (const condition of train) {
      const { scenarioId, varied } = plan.conditions[condition];
      const title = [scenarioId, exceptFor(varied, axis)].filter((word) => word !== '').join(', ');
      groups.set(title, [...(groups.get(title) ?? []), { x: varied[axis] as number, condition }]);
    }
    return [...groups].map(([title, members]) => {
      const sorted = members.sort((a, b) => a.x - b.x);
      const curves = settings
        .slice(0, MOST_CURVES)
        .map((setting) => breakdownCurve(plan, gathered, measure, setting, sorted));
      return { kind: 'condition' as const, axis, measure, title, curves };
    });
  });
}

function breakdownCurve(
  plan: StudyPlan,
  gathered: Gathered,
  measure: Measure,
  setting: number,
  members: { x: number; condition: number }[],
): Curve {
  const xs = members.map(({ x }) => x);
  const figures = (other: Measure) =>
    members.map(({ condition }) => centreIn(gathered, condition, setting, other).value);
  const noises = figures(studyMeasure('residual-noise'));
  const offsets = figures(studyMeasure('gain')).map((gain) => Math.abs(gain - 1));
  return {
    label: plan.settings[setting].id,
    points: members
      .map(({ x, condition }) => ({ x, y: centreIn(gathered, condition, setting, measure) }))
      .filter(({ y }) => !Number.isNaN(y.value)),
    noiseDoublesAt: crossing(xs, noises, 2 * noises[0]),
    gainIsOffAt: crossing(xs, offsets, 0.1),
  };
}

/** The centre of a measure in one cell, with its interval. */
function centreIn(gathered: Gathered, condition: number, setting: number, measure: Measure): Interval {
  const values = valuesOfMeasure(gathered.cell(condition, setting), measure);
  return bootstrap(values.length, (chosen) => centreOf(measure.centre, values, chosen));
}

/** Keys that have at least 3 different values, all numbers. */
function numericKeys(groups: readonly Record<string, Scalar>[]): string[] {
  const keys = [...new Set(groups.flatMap((group) => Object.keys(group)))];
  return keys.filter((key) => {
    const values = groups.flatMap((group) => group[key] ?? []);
    return values.every((value) => typeof value === 'number') && new Set(values).size >= 3;
  });
}

function exceptFor(group: Record<string, Scalar>, axis: string): string {
  return Object.entries(group)
    .filter(([key]) => key !== axis)
    .map(([key, value]) => `${key}=${value}`)
    .join(' ');
}
