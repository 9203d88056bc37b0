import { averagingStrategy } from '../core/averaging/index.ts';
import { exp, log } from '../core/elementary.ts';
import { changesResponse } from '../core/quality/amplitudeGain.ts';
import { type Expected, meanOf, overReplicates, rmsOf } from '../core/quality/replicates.ts';
import { timeToTarget } from '../core/quality/timeToTarget.ts';
import { lockDistance } from '../core/stimulus/lockDistance.ts';
import type { LaneMeasure, RunMeasure } from './hiddenRuns.ts';
import { laneIdOf, type Settings, settingOf } from './lessonRun.ts';
import type { Figure, Lesson, NumberSetting } from './schema.ts';

/** What figures are computed from. */
export interface FigureSource {
  lesson: Lesson;
  settings: Settings;
  /** Measures of the runs that the figures name, by run id. */
  measures: ReadonlyMap<string, RunMeasure>;
}

/** A computed figure. */
export interface FigureValue {
  value: number;
  /** Unit, or '' for a pure number. */
  unit: string;
  /** What it is, with its value: one phrase for a mark line. */
  words: string;
}

// Sweeps from which the law and the slope are fitted: before, one patient's scatter hides any slope. Our choice.
const FIT_FROM_SWEEPS = 50;

/** Computes a figure. @throws {RangeError} if a run that it needs was not measured */
export function computeFigure(figure: Figure, source: FigureSource): FigureValue {
  switch (figure.figure) {
    case 'ratio': {
      const of = computeFigure(figure.of, source);
      const to = computeFigure(figure.to, source);
      const value = of.value / to.value;
      const ratio = Number.isFinite(value) ? `ratio ${value.toPrecision(3)}` : 'no ratio';
      return { value, unit: '', words: `${ratio}: ${of.words}, against ${to.words}` };
    }
    case 'sum': {
      const value = figure.of.reduce((sum, part) => sum + computeFigure(part, source).value, 0);
      return phrase(value, computeFigure(figure.of[0], source).unit, figure.text);
    }
    case 'setting': {
      const { text, unit } = settingOf(source.lesson, figure.setting) as NumberSetting;
      return phrase(numberOf(source, figure.setting), unit, `your ${lowerFirst(text)}`);
    }
    case 'lock-distance': {
      const { everyOther, lineHz, harmonics } = figure;
      const ratePerS =
        typeof figure.ratePerS === 'number' ? figure.ratePerS : numberOf(source, figure.ratePerS.setting);
      const value = lockDistance(everyOther ? ratePerS / 2 : ratePerS, lineHz, harmonics);
      const trace = everyOther ? `every other stimulus of ${shortNumber(ratePerS)}/s` : `${shortNumber(ratePerS)}/s`;
      return phrase(value, '', `lock distance of ${trace} from ${lineHz} Hz and harmonics up to ${harmonics}`);
    }
    case 'lowest-noise':
    case 'best-value': {
      const best = bestVaried(measureOf(source, figure.run), figure.strategy);
      return figure.figure === 'lowest-noise'
        ? phrase(best.noiseNv, 'nV', `the lowest residual noise of all values tried, at ${best.value}`)
        : phrase(best.value, '', 'the value tried with the lowest residual noise');
    }
    case 'best-lane':
      return bestLane(figure, source);
    default:
      return laneFigure(figure, source);
  }
}

type OfKind<Kind> = Extract<Figure, { figure: Kind }>;
type NotOfLane = 'ratio' | 'sum' | 'setting' | 'lock-distance' | 'lowest-noise' | 'best-value' | 'best-lane';

/** The best of several lanes whose gain is honest: one that changes the response does not count. */
function bestLane(figure: OfKind<'best-lane'>, source: FigureSource): FigureValue {
  const { run, of, targetNv } = figure;
  let best: { value: number; lane: string } = { value: Infinity, lane: '' };
  for (const laneId of figure.lanes) {
    const lane = laneIdOf(laneId, source.settings);
    if (changesResponse(expectedGain(run, lane, source))) continue;
    const { value } =
      of === 'residual-noise'
        ? computeFigure({ figure: of, run, lane }, source)
        : computeFigure({ figure: of, run, lane, targetNv: targetNv ?? NaN }, source);
    if (value < best.value) best = { value, lane };
  }
  const measure = measureOf(source, run);
  const winner = best.lane === '' ? 'no lane' : laneName(laneOf(measure, best.lane));
  const what = of === 'residual-noise' ? 'residual noise' : `time to ${targetNv} nV`;
  const unit = of === 'residual-noise' ? 'nV' : 's';
  return phrase(best.value, unit, `the best ${what} with an honest gain in “${measure.title}”, of ${winner}`);
}

function laneFigure(figure: Exclude<Figure, { figure: NotOfLane }>, source: FigureSource): FigureValue {
  const run = measureOf(source, figure.run);
  const lane = laneOf(run, laneIdOf(figure.lane, source.settings));
  const all = allOf(run);
  const where = `${laneName(lane)} in “${run.title}”`;
  switch (figure.figure) {
    case 'residual-noise': {
      const { percentile } = figure;
      if (percentile === undefined) return phrase(rmsOf(lane.noiseNv, all), 'nV', `residual noise of ${where}`);
      const value = percentileOf(lane.noiseNv, percentile);
      return phrase(value, 'nV', `residual noise that ${percentile} % of patients stay under, of ${where}`);
    }
    case 'own-noise':
      return phrase(rmsOf(lane.ownNoiseNv, all), 'nV', `own noise claim of ${where}`);
    case 'gain':
      return phrase(meanOf(lane.gain, all), '', `amplitude gain of ${where}`);
    case 'gain-error':
      return phrase(Math.abs(meanOf(lane.gain, all) - 1), '', `distance of the amplitude gain from 1 of ${where}`);
    case 'own-scatter':
      return phrase(
        scatterPercent(lane.ownNoiseNv),
        '%',
        `scatter between patients of the own noise claim of ${where}`,
      );
    case 'fmp':
      return phrase(meanOf(lane.fmp, all), '', `Fmp of ${where}`);
    case 'accepted':
      return phrase(100 * meanOf(lane.usedShare, all), '%', `share of sweeps used by ${where}`);
    case 'effective':
      return phrase(100 * meanOf(lane.effectiveShare, all), '%', `effective sweeps of ${where}`);
    case 'split-correlation':
      return phrase(meanOf(lane.splitCorrelation, all), '', `split-buffer correlation of ${where}`);
    case 'scatter':
      return phrase(scatterPercent(lane.noiseNv), '%', `scatter between patients of the residual noise of ${where}`);
    case 'seconds-to-target': {
      const at = arrival(lane, all, figure.targetNv);
      const seconds = at < 0 ? Infinity : run.seconds[at];
      const what = `time to ${figure.targetNv} nV of ${where}`;
      return at < 0 ? { value: seconds, unit: 's', words: `${what}: never` } : phrase(seconds, 's', what);
    }
    case 'sweeps-by-law':
      return phrase(sweepsByLaw(run, lane, figure.targetNv), '', `sweeps needed for ${figure.targetNv} nV by ${where}`);
    case 'slope':
      return phrase(slopeOf(run, lane), '', `slope of log residual noise on log sweeps of ${where}`);
    default:
      return figure satisfies never;
  }
}

/** The gain of a lane over its hidden patients, with its interval. */
export function expectedGain(runId: string, laneId: string, source: FigureSource): Expected {
  const run = measureOf(source, runId);
  const lane = laneOf(run, laneIdOf(laneId, source.settings));
  return overReplicates(run.patientCount, (chosen) => meanOf(lane.gain, chosen));
}

/** Checkpoint from which on the expected residual noise stays at or under the target; −1 for never. */
export function arrival(lane: LaneMeasure, chosen: ArrayLike<number>, targetNv: number): number {
  const checkpointCount = lane.curveNv[0].length;
  const noiseNv = Array.from({ length: checkpointCount }, (_, j) => expectedAt(lane, j, chosen));
  return timeToTarget(noiseNv, targetNv);
}

/** The numbers of all patients of a run. */
export function allOf(run: RunMeasure): number[] {
  return Array.from({ length: run.patientCount }, (_, r) => r);
}

/** A lane as people call it: its strategy, with the value that was varied. */
export function laneName(lane: LaneMeasure): string {
  const { label } = averagingStrategy(lane.strategy);
  const at = lane.id.indexOf('@');
  return at < 0 ? label : `${label} at ${lane.id.slice(at + 1)}`;
}

/** Writes a number with three significant digits and no exponent. @example shortNumber(1913.6) // '1910' */
export function shortNumber(value: number): string {
  if (!Number.isFinite(value)) return 'none';
  return String(Number(value.toPrecision(3)));
}

function phrase(value: number, unit: string, what: string): FigureValue {
  const shown = Number.isFinite(value) && unit !== '' ? `${shortNumber(value)} ${unit}` : shortNumber(value);
  return { value, unit, words: `${what}: ${shown}` };
}

function measureOf({ measures, lesson }: FigureSource, runId: string): RunMeasure {
  const measure = measures.get(runId);
  if (!measure) throw new RangeError(`computeFigure: a run of ${lesson.id} must be measured first, got ${runId}`);
  return measure;
}

function laneOf(run: RunMeasure, laneId: string): LaneMeasure {
  const lane = run.lanes.find(({ id }) => id === laneId);
  if (!lane) throw new RangeError(`computeFigure: run ${run.runId} has no such lane, got ${laneId}`);
  return lane;
}

function numberOf({ settings }: FigureSource, id: string): number {
  const value = settings[id];
  return typeof value === 'number' ? value : NaN;
}

function expectedAt(lane: LaneMeasure, checkpoint: number, chosen: ArrayLike<number>): number {
  let sum = 0;
  for (let k = 0; k < chosen.length; k++) {
    const noiseNv = lane.curveNv[chosen[k]][checkpoint];
    sum += noiseNv * noiseNv;
  }
  return Math.sqrt(sum / chosen.length);
}

/** The varied lane, of all or of one strategy, with the lowest expected residual noise. */
function bestVaried(run: RunMeasure, strategy?: string): { noiseNv: number; value: number } {
  let best = { noiseNv: Infinity, value: NaN };
  for (const lane of run.lanes) {
    if (strategy !== undefined && lane.strategy !== strategy) continue;
    const at = lane.id.indexOf('@');
    const noiseNv = rmsOf(lane.noiseNv, allOf(run));
    if (at >= 0 && noiseNv < best.noiseNv) best = { noiseNv, value: Number(lane.id.slice(at + 1)) };
  }
  return best;
}

/**
 * Sweeps needed for a target by the law RN = σ/√N, with σ from the whole curve.
 *
 *     ln σ = mean of ln(RN·√N) over the checkpoints from 50 sweeps on,   N = (σ/target)²
 *
 * Steadier than the crossing itself, and it holds only where the slope is −½.
 */
function sweepsByLaw(run: RunMeasure, lane: LaneMeasure, targetNv: number): number {
  const { logNoise, logSweeps, count } = curveOf(run, lane);
  let sum = 0;
  for (let j = 0; j < count; j++) sum += logNoise[j] + 0.5 * logSweeps[j];
  const sigmaNv = exp(sum / count);
  return (sigmaNv / targetNv) * (sigmaNv / targetNv);
}

/** Least-squares slope of ln RN on ln N over the checkpoints from 50 sweeps on. */
function slopeOf(run: RunMeasure, lane: LaneMeasure): number {
  const { logNoise, logSweeps, count } = curveOf(run, lane);
  let meanX = 0;
  let meanY = 0;
  for (let j = 0; j < count; j++) {
    meanX += logSweeps[j] / count;
    meanY += logNoise[j] / count;
  }
  let products = 0;
  let squares = 0;
  for (let j = 0; j < count; j++) {
    products += (logSweeps[j] - meanX) * (logNoise[j] - meanY);
    squares += (logSweeps[j] - meanX) * (logSweeps[j] - meanX);
  }
  return products / squares;
}

function curveOf(run: RunMeasure, lane: LaneMeasure): { logNoise: number[]; logSweeps: number[]; count: number } {
  const all = allOf(run);
  const logNoise: number[] = [];
  const logSweeps: number[] = [];
  for (const [j, sweeps] of run.sweeps.entries()) {
    const noiseNv = expectedAt(lane, j, all);
    if (sweeps < FIT_FROM_SWEEPS || !(noiseNv > 0 && noiseNv < Infinity)) continue;
    logNoise.push(log(noiseNv));
    logSweeps.push(log(sweeps));
  }
  return { logNoise, logSweeps, count: logNoise.length };
}

/** Percentile by linear interpolation between the ordered values, (n − 1)·p/100 from the lowest. */
function percentileOf(values: readonly number[], percent: number): number {
  const ordered = [...values].sort((a, b) => a - b);
  const place = ((ordered.length - 1) * percent) / 100;
  const below = Math.floor(place);
  const above = Math.min(ordered.length - 1, below + 1);
  return place === below ? ordered[below] : ordered[below] + (place - below) * (ordered[above] - ordered[below]);
}

/** Standard deviation over mean, %. */
function scatterPercent(values: readonly number[]): number {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  const squares = values.reduce((sum, value) => sum + (value - mean) * (value - mean), 0);
  return (100 * Math.sqrt(squares / (values.length - 1))) / mean;
}

function lowerFirst(text: string): string {
  return text.charAt(0).toLowerCase() + text.slice(1);
}
