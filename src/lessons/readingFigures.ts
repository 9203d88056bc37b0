import {
  type FigureSource,
  type FigureValue,
  laneMeasureOf,
  laneName,
  measureOf,
  percentileOf,
  phrase,
} from './figureParts.ts';
import type { PatientReading } from './hiddenRuns.ts';
import { laneIdOf } from './lessonRun.ts';
import type { ReadingFigure } from './readingFigureKinds.ts';

/**
 * Computes a figure of what was read off one lane's average of each hidden patient.
 *
 * Medians over patients: a ratio of two noisy sizes may lie anywhere in one of them. A patient whose average has no such
 * peak, or whose ratio means nothing, counts as infinitely wrong and as undecided.
 */
export function readingFigure(figure: ReadingFigure, source: FigureSource): FigureValue {
  const run = measureOf(source, figure.run);
  const lane = laneMeasureOf(run, laneIdOf(figure.lane, source.settings));
  const where = `${laneName(lane)} in “${run.title}”`;
  if ('peak' in figure) {
    const { peak } = figure;
    const pairs = lane.readings.map(({ peaks }) => peaks.find(({ name }) => name === peak));
    if (figure.figure === 'peak-latency') {
      return phrase(median(pairs.map((pair) => pair?.latencyMs ?? Infinity)), 'ms', `latency of ${peak} of ${where}`);
    }
    if (figure.figure === 'peak-clear') {
      const clear = pairs.filter((pair) => pair?.clear).length;
      return phrase(
        (100 * clear) / pairs.length,
        '%',
        `share of patients in whom ${peak} is clear of the noise, of ${where}`,
      );
    }
    if (figure.figure === 'peak-truth') {
      return phrase(
        median(pairs.map((pair) => pair?.truthMs ?? Infinity)),
        'ms',
        `true latency of ${peak} in “${run.title}”`,
      );
    }
    const errorsMs = pairs.map((pair) => distance(pair?.latencyMs, pair?.truthMs));
    if (figure.figure === 'peak-within') {
      const right = errorsMs.filter((errorMs) => errorMs <= figure.withinMs).length;
      const what = `share of patients in whom ${peak} is marked within ${figure.withinMs} ms of the truth`;
      return phrase((100 * right) / pairs.length, '%', `${what}, of ${where}`);
    }
    return phrase(median(errorsMs), 'ms', `error of the latency of ${peak} of ${where}`);
  }
  const { reading } = figure;
  const read = lane.readings.map(({ figures }) => figures.find(({ name }) => name === reading));
  const unit = read.find((entry) => entry !== undefined)?.unit ?? '';
  switch (figure.figure) {
    case 'read-value':
      return phrase(median(read.map((entry) => entry?.value ?? Infinity)), unit, `${reading} of ${where}`);
    case 'read-truth':
      return phrase(median(read.map((entry) => entry?.truth ?? Infinity)), unit, `true ${reading} in “${run.title}”`);
    case 'read-error':
      return phrase(
        median(read.map((entry) => distance(entry?.value, entry?.truth))),
        unit,
        `error of ${reading} of ${where}`,
      );
    case 'read-width': {
      const widths = read.map((entry) => (entry ? distance(entry.high, entry.low) / 2 : Infinity));
      return phrase(median(widths), unit, `half the width of the 95 % interval of ${reading} of ${where}`);
    }
    case 'read-coverage': {
      const share = shareOf(read, ({ low, high, truth }) => low <= truth && truth <= high);
      return phrase(share, '%', `share of patients whose interval of ${reading} holds the truth, of ${where}`);
    }
    case 'read-decided': {
      const { cut, side } = figure;
      const share = shareOf(read, ({ low, high }) => (side === 'above' ? low > cut : high < cut));
      return phrase(share, '%', `share of patients whose interval of ${reading} lies ${side} ${cut}, of ${where}`);
    }
    default:
      return figure satisfies never;
  }
}

type ReadFigure = PatientReading['figures'][number];

function shareOf(read: readonly (ReadFigure | undefined)[], holds: (entry: ReadFigure) => boolean): number {
  return (100 * read.filter((entry) => entry?.meaningful && holds(entry)).length) / read.length;
}

function distance(one = NaN, two = NaN): number {
  const apart = Math.abs(one - two);
  return Number.isNaN(apart) ? Infinity : apart;
}

function median(values: readonly number[]): number {
  return percentileOf(values, 50);
}
