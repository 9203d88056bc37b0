import { exp, log } from '../core/elementary.ts';
import { changesResponse } from '../core/quality/amplitudeGain.ts';
import { type Expected, meanOf, overReplicates, rmsOf } from '../core/quality/replicates.ts';
import { timeToTarget } from '../core/quality/timeToTarget.ts';
import { lockDistance } from '../core/stimulus/lockDistance.ts';
import {
  type FigureSource,
  type FigureValue,
  laneMeasureOf,
  laneName,
  measureOf,
  numberFrom,
  percentileOf,
  phrase,
  shortNumber,
} from './figureParts.ts';
import type { LaneMeasure, RunMeasure } from './hiddenRuns.ts';
import { inRun } from './lanesToMeasure.ts';
import { laneIdOf, settingOf } from './lessonRun.ts';
import { isReadingFigure, type ReadingFigure } from './readingFigureKinds.ts';
import { readingFigure } from './readingFigures.ts';
import { changedFigure, diagnosisFigure, looksFigure, pickupFigure } from './scenarioFigures.ts';
import type { Figure, NumberSetting } from './schema.ts';
import { type StoppingFigure, stoppingFigure } from './stoppingFigures.ts';

// Sweeps from which the law and the slope are fitted: before, one patient's scatter hides any slope. Our choice.
const FIT_FROM_SWEEPS = 50;

// Over 300 lines: one case for each figure of the schema, with the few rules that several of them share.

/** Computes a figure. @throws {RangeError} if a run that it needs was not measured */
export function computeFigure(figure: Figure, source: FigureSource): FigureValue {
  if (isReadingFigure(figure)) return readingFigure(figure, source);
  switch (figure.figure) {
    case 'ratio': {
      const of = computeFigure(figure.of, source);
      const to = computeFigure(figure.to, source);
      const value = of.value / to.value;
      const ratio = Number.isFinite(value) ? `ratio ${value.toPrecision(3)}` : 'no ratio';
      return { value, unit: '', words: `${ratio}: ${of.words}, against ${to.words}` };
    }
    case 'decibels': {
      const of = computeFigure(figure.of, source);
      const to = computeFigure(figure.to, source);
      const value = (20 * log(of.value / to.value)) / log(10);
      return { value, unit: 'dB', words: `${shortNumber(value)} dB: ${of.words}, against ${to.words}` };
    }
    case 'difference':
    case 'distance': {
      const of = computeFigure(figure.of, source);
      const to = computeFigure(figure.to, source);
      const difference = of.value - to.value;
      const value = figure.figure === 'distance' ? Math.abs(difference) : difference;
      const what = figure.figure === 'distance' ? 'apart' : 'difference';
      return {
        value,
        unit: of.unit,
        words: `${shortNumber(value)} ${of.unit} ${what}: ${of.words}, against ${to.words}`,
      };
    }
    case 'over-runs':
      return overRuns(figure, source);
    case 'called':
    case 'seconds-to-call':
    case 'threshold-within':
    case 'search-seconds':
      return stoppingFigure(figure, source);
    case 'pickup':
      return pickupFigure(figure, source);
    case 'changed':
      return changedFigure(figure, source);
    case 'diagnosis':
      return diagnosisFigure(figure, source);
    case 'looks':
      return looksFigure(source);
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
      const ratePerS = numberFrom(figure.ratePerS, source);
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
type NotOfLane =
  | ReadingFigure['figure']
  | (
      | 'ratio'
      | 'decibels'
      | 'difference'
      | 'distance'
      | 'sum'
      | 'setting'
      | 'lock-distance'
      | 'lowest-noise'
      | 'best-value'
    )
  | ('over-runs' | StoppingFigure['figure'])
  | ('best-lane' | 'pickup' | 'changed' | 'diagnosis' | 'looks');

/** The same figure over several runs. One that is not a number is the worst there is, and keeps no limit. */
function overRuns(figure: OfKind<'over-runs'>, source: FigureSource): FigureValue {
  const { take, text, atLeast = -Infinity } = figure;
  const atMost = numberFrom(figure.atMost ?? Infinity, source);
  const each = figure.runs.map((run) => computeFigure(inRun(figure.of, run), source));
  const values = each.map(({ value }) => value);
  if (take === 'share') {
    const kept = values.filter((value) => value <= atMost && value >= atLeast).length;
    return phrase((100 * kept) / values.length, '%', text);
  }
  const known = values.map((value) => (Number.isNaN(value) ? (take === 'lowest' ? -Infinity : Infinity) : value));
  return phrase(take === 'lowest' ? Math.min(...known) : Math.max(...known), each[0].unit, text);
}

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
  const winner = best.lane === '' ? 'no lane' : laneName(laneMeasureOf(measure, best.lane));
  const what = of === 'residual-noise' ? 'residual noise' : `time to ${targetNv} nV`;
  const unit = of === 'residual-noise' ? 'nV' : 's';
  return phrase(best.value, unit, `the best ${what} with an honest gain in “${measure.title}”, of ${winner}`);
}

function laneFigure(figure: Exclude<Figure, { figure: NotOfLane }>, source: FigureSource): FigureValue {
  const run = measureOf(source, figure.run);
  const lane = laneMeasureOf(run, laneIdOf(figure.lane, source.settings));
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
  const lane = laneMeasureOf(run, laneIdOf(laneId, source.settings));
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

/** Standard deviation over mean, %. */
function scatterPercent(values: readonly number[]): number {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  const squares = values.reduce((sum, value) => sum + (value - mean) * (value - mean), 0);
  return (100 * Math.sqrt(squares / (values.length - 1))) / mean;
}

function lowerFirst(text: string): string {
  return text.charAt(0).toLowerCase() + text.slice(1);
}
