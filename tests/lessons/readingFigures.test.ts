import { describe, expect, it } from 'vitest';
import { computeFigure } from '../../src/lessons/figures.ts';
import type { LaneMeasure, PatientReading } from '../../src/lessons/hiddenRuns.ts';
import { lesson } from './lessonFolders.ts';

const theLesson = lesson('quieter-by-the-root');

const patient = (latencyMs: number, value: number, half: number, meaningful = true): PatientReading => ({
  peaks: [{ name: 'V', latencyMs, truthMs: 5.6, clear: latencyMs < 6 }],
  figures: [{ name: 'SP/AP', unit: '', value, low: value - half, high: value + half, truth: 0.25, meaningful }],
});

/** One lane with these readings, as the figures see it. */
function sourceOf(readings: PatientReading[]) {
  const none = readings.map(() => 0);
  const lane: LaneMeasure = {
    ...{ id: 'plain-mean', strategy: 'plain-mean', parameters: {}, curveNv: [], noiseNv: none, ownNoiseNv: none },
    ...{ ownCurveNv: [], fmpCurve: [] },
    ...{ gain: none, splitCorrelation: none, fmp: none, usedShare: none, effectiveShare: none, readings },
  };
  const run = { runId: 'x', title: 'X', patientCount: readings.length, sweeps: [], seconds: [], lanes: [lane] };
  return { lesson: theLesson, settings: {}, measures: new Map([['x', run]]) };
}

const source = sourceOf([patient(5.5, 0.2, 0.1), patient(5.7, 0.3, 0.02), patient(6, 0.5, 0.1)]);
const of = { run: 'x', lane: 'plain-mean' };
const value = (figure: Parameters<typeof computeFigure>[0], from = source) => computeFigure(figure, from).value;

describe('figures of what is read off the averages', () => {
  it('are medians over patients', () => {
    expect(value({ figure: 'peak-latency', peak: 'V', ...of })).toBe(5.7);
    expect(value({ figure: 'peak-truth', peak: 'V', ...of })).toBe(5.6);
    expect(value({ figure: 'latency-error', peak: 'V', ...of })).toBeCloseTo(0.1, 12);
    expect(value({ figure: 'read-value', reading: 'SP/AP', ...of })).toBe(0.3);
    expect(value({ figure: 'read-truth', reading: 'SP/AP', ...of })).toBe(0.25);
    expect(value({ figure: 'read-error', reading: 'SP/AP', ...of })).toBeCloseTo(0.05, 12);
    expect(value({ figure: 'read-width', reading: 'SP/AP', ...of })).toBeCloseTo(0.1, 12);
  });

  it('count patients whose peak is clear, and whose mark is near the truth', () => {
    expect(value({ figure: 'peak-clear', peak: 'V', ...of })).toBeCloseTo(200 / 3, 9);
    expect(value({ figure: 'peak-within', peak: 'V', withinMs: 0.2, ...of })).toBeCloseTo(200 / 3, 9);
    expect(value({ figure: 'peak-within', peak: 'I', withinMs: 9, ...of })).toBe(0); // not there: nobody marks it
  });

  it('count intervals that hold the truth, and those that lie on one side of a cut', () => {
    expect(value({ figure: 'read-coverage', reading: 'SP/AP', ...of })).toBeCloseTo(100 / 3, 9); // 0.1 … 0.3 only
    const decided = { figure: 'read-decided', reading: 'SP/AP', cut: 0.35, ...of } as const;
    expect(value({ ...decided, side: 'below' })).toBeCloseTo(200 / 3, 9);
    expect(value({ ...decided, side: 'above' })).toBeCloseTo(100 / 3, 9);
  });

  it('what is not there, or means nothing, is infinitely wrong and never decided', () => {
    const lost = sourceOf([{ peaks: [], figures: [] }, patient(5.6, 9, 1, false), { peaks: [], figures: [] }]);
    expect(value({ figure: 'latency-error', peak: 'V', ...of }, lost)).toBe(Infinity);
    expect(value({ figure: 'read-error', reading: 'SP/AP', ...of }, lost)).toBe(Infinity);
    const decided = { figure: 'read-decided', reading: 'SP/AP', cut: 0.35, side: 'above', ...of } as const;
    expect(value(decided, lost)).toBe(0);
  });
});
