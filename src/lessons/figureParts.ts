import { averagingStrategy } from '../core/averaging/index.ts';
import type { LaneMeasure, RunMeasure } from './hiddenRuns.ts';
import type { Settings } from './lessonRun.ts';
import type { Lesson } from './schema.ts';

/** What figures are computed from. */
export interface FigureSource {
  lesson: Lesson;
  settings: Settings;
  /** Measures of the runs that the figures name, by run id. */
  measures: ReadonlyMap<string, RunMeasure>;
  /** Decides who has which case, in a lesson with unlabelled patients. */
  attemptSeed?: string;
  /** Looks that the learner took at unlabelled patients; none if it is left out. */
  lookCount?: number;
}

/** A computed figure. */
export interface FigureValue {
  value: number;
  /** Unit, or '' for a pure number. */
  unit: string;
  /** What it is, with its value: one phrase for a mark line. */
  words: string;
}

/** Puts a figure in words, with its value. */
export function phrase(value: number, unit: string, what: string): FigureValue {
  const shown = Number.isFinite(value) && unit !== '' ? `${shortNumber(value)} ${unit}` : shortNumber(value);
  return { value, unit, words: `${what}: ${shown}` };
}

/** Writes a number with three significant digits and no exponent. @example shortNumber(1913.6) // '1910' */
export function shortNumber(value: number): string {
  if (!Number.isFinite(value)) return 'none';
  return String(Number(value.toPrecision(3)));
}

/** The measure of a run. @throws {RangeError} if it was not measured */
export function measureOf({ measures, lesson }: FigureSource, runId: string): RunMeasure {
  const measure = measures.get(runId);
  if (!measure) throw new RangeError(`computeFigure: a run of ${lesson.id} must be measured first, got ${runId}`);
  return measure;
}

/** A lane of a run. @throws {RangeError} if the run has no such lane */
export function laneMeasureOf(run: RunMeasure, laneId: string): LaneMeasure {
  const lane = run.lanes.find(({ id }) => id === laneId);
  if (!lane) throw new RangeError(`computeFigure: run ${run.runId} has no such lane, got ${laneId}`);
  return lane;
}

/** A lane as people call it: its strategy, with the value that was varied. */
export function laneName(lane: LaneMeasure): string {
  const { label } = averagingStrategy(lane.strategy);
  const at = lane.id.indexOf('@');
  return at < 0 ? label : `${label} at ${lane.id.slice(at + 1)}`;
}

/** A number that a figure is given, or takes from a setting. */
export function numberFrom(given: number | { setting: string }, { settings }: FigureSource): number {
  if (typeof given === 'number') return given;
  const value = settings[given.setting];
  return typeof value === 'number' ? value : NaN;
}

/** Percentile by linear interpolation between the ordered values, (n − 1)·p/100 from the lowest. */
export function percentileOf(values: readonly number[], percent: number): number {
  const ordered = [...values].sort((a, b) => a - b);
  const place = ((ordered.length - 1) * percent) / 100;
  const below = Math.floor(place);
  const above = Math.min(ordered.length - 1, below + 1);
  return place === below ? ordered[below] : ordered[below] + (place - below) * (ordered[above] - ordered[below]);
}
