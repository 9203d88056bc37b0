import type { AveragingStrategy } from '../core/averaging/strategy.ts';
import { type BreakdownAxis, type BreakdownCurve, breakdownCurves } from '../core/session/breakdownCurves.ts';
import { type LaneSetting, laneName } from '../core/session/lanes.ts';
import { laneTitles } from './laneOption.ts';
import { withProgress } from './progress.ts';
import { csvTable, orNull, shown, textTable } from './table.ts';

/** The curves of a race along an axis. */
export interface RaceBreakdown {
  axis: BreakdownAxis;
  curves: readonly BreakdownCurve[];
}

/** Runs the lanes through the levels of an axis; progress goes to a terminal. */
export function breakdownWithProgress(
  document: object,
  axis: BreakdownAxis,
  order: { seed: string; replicates: number; lanes: LaneSetting[]; outside: readonly AveragingStrategy[] },
): RaceBreakdown {
  return { axis, curves: withProgress(breakdownCurves(document, axis, order), axis.id) };
}

/** The key `breakdown` of the JSON contract; tests/cli/raceQuality.test.ts holds it. */
export function breakdownJson({ axis, curves }: RaceBreakdown): object {
  return {
    axis: axis.id,
    unit: axis.unit,
    lanes: curves.map(({ strategy, points, breakdown }) => ({
      strategy,
      level: orNull(breakdown.level),
      cause: breakdown.cause,
      points: points.map(({ level, noise, gain, gainLow = NaN, gainHigh = NaN }) => ({
        level,
        noiseNv: orNull(noise),
        gain: orNull(gain),
        gainLow: orNull(gainLow),
        gainHigh: orNull(gainHigh),
      })),
    })),
  };
}

/** The curves as lines of comma-separated values, one for each lane and level, with the given columns in front. */
export function breakdownCsv(
  header: readonly string[],
  provenance: readonly (string | number)[],
  { axis, curves }: RaceBreakdown,
  outside: readonly AveragingStrategy[],
): string {
  const rows = curves.flatMap((curve) =>
    curve.points.map(({ level, noise, gain, gainLow, gainHigh }) => [
      ...[...provenance, axis.id, axis.unit, curve.strategy, laneName(curve, outside), level, noise, gain],
      ...[gainLow ?? null, gainHigh ?? null, curve.breakdown.level, curve.breakdown.cause],
    ]),
  );
  const columns = ['axis', 'unit', 'strategy', 'name', 'level', 'noiseNv', 'gain', 'gainLow', 'gainHigh'];
  return csvTable([[...header, ...columns, 'breaksDownAt', 'cause'], ...rows]);
}

/** Noise and gain at every level, a pair of columns for each lane, and where each breaks down. */
export function breakdownText({ axis, curves }: RaceBreakdown, outside: readonly AveragingStrategy[]): string {
  const titles = laneTitles(
    curves,
    curves.map((lane) => laneName(lane, outside)),
  );
  const rows = curves[0].points.map(({ level }, j) => [
    String(Number(level.toPrecision(4))),
    ...curves.flatMap(({ points }) => [shown(points[j].noise, 1), shown(points[j].gain, 2)]),
  ]);
  const verdicts = curves.map(({ breakdown }, k) =>
    breakdown.cause === 'cannot-tell'
      ? `${titles[k]}: cannot tell where it breaks down; use --replicates 3 or more.`
      : breakdown.cause === 'none'
        ? `${titles[k]}: holds over the whole curve.`
        : `${titles[k]}: breaks down at ${Number(breakdown.level.toPrecision(3))}${axis.unit ? ` ${axis.unit}` : ''}, by its ${breakdown.cause}.`,
  );
  return [
    `Breakdown: ${axis.label}${axis.unit ? `, ${axis.unit}` : ''}; noise in nV rms, gain`,
    '',
    textTable([['level', ...titles.flatMap((title) => [title, 'gain'])], ...rows]),
    '',
    ...verdicts,
    'Broken down: the noise has doubled against the first level, or the gain is off by more than 0.1 beyond chance.',
  ].join('\n');
}
