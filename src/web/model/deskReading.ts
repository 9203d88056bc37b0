import { brainstemFigures } from '../../core/reading/brainstemFigures.ts';
import { readCochlear } from '../../core/reading/cochlearFigures.ts';
import { type Figure, ratioFigure } from '../../core/reading/figure.ts';
import { asymmetry, meanRectifiedUv, muscleFigures } from '../../core/reading/muscleFigures.ts';
import { NO_NOISE, type NoiseShape, noiseShape } from '../../core/reading/noiseShape.ts';
import { type PeakError, peakErrors } from '../../core/reading/peakErrors.ts';
import { type PeakRule, peakRules } from '../../core/reading/peakRules.ts';
import { type ReadPeak, readPeaks } from '../../core/reading/readPeaks.ts';
import { type ReadingContext, readResponse } from '../../core/reading/readResponse.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import { averagingContext } from '../../core/session/session.ts';
import type { RunRecord } from './runRecord.ts';

/** One average with all that its reading needs; copies, so that it stays when the run goes on. */
export interface DeskTrace {
  lane: number;
  name: string;
  averageUv: Float64Array;
  bufferAUv: Float64Array;
  bufferBUv: Float64Array;
  truthUv: Float64Array;
  ownNoiseUv: number;
  /** Mean rectified activity before the stimulus, µV; NaN for none. */
  rectifiedUv: number;
}

const ACTIVITY_SWEEPS = 100; // the latest ones kept: more would not change the mean by a per cent

/** Takes the trace of a lane as it stands. */
export function deskTrace(record: RunRecord, lane: number): DeskTrace {
  const { averageUv, bufferAUv, bufferBUv, reading, name } = record.lanes[lane];
  const { kind } = record.scenario.response;
  return {
    lane,
    name,
    averageUv: Float64Array.from(averageUv),
    bufferAUv: Float64Array.from(bufferAUv),
    bufferBUv: Float64Array.from(bufferBUv),
    truthUv: Float64Array.from(record.truthUv),
    ownNoiseUv: reading.ownNoiseUv,
    rectifiedUv: kind === 'cvemp' ? activityUv(record, record.offeredCount - 1) : NaN,
  };
}

/** Mean rectified activity before the stimulus over some sweeps up to one, µV; NaN without any. */
export function activityUv(record: RunRecord, lastSweep: number, sweeps = ACTIVITY_SWEEPS): number {
  let sum = 0;
  let count = 0;
  for (let k = Math.max(0, lastSweep - sweeps + 1); k <= lastSweep; k++) {
    const samples = record.rawSweep(k, record.channel);
    if (!samples || record.preSampleCount === 0) continue;
    sum += meanRectifiedUv(Float64Array.from(samples), record.preSampleCount);
    count++;
  }
  return count > 0 ? sum / count : NaN;
}

/** What the marks on a trace say. */
export interface ReadMarks {
  peaks: ReadPeak[];
  /** Names of marks that stand on no peak of their direction. */
  offPeak: string[];
  figures: Figure[];
  /** Marks against the truth, read by the same rule; empty while there is none. */
  errors: PeakError[];
  /** Peaks of the truth, by the rule. */
  truthPeaks: ReadPeak[];
}

const REACH_MS = { 'click-abr': 0.35, ecochg: 0.25 } as const; // around a mark, within which its peak is sought
const REACH_SHARE = 0.12; // of the search window, for the others

/** Names of the marks that belong to the response; a silent ear is read as what its stimulus would evoke. */
export function markNames(scenario: Scenario): string[] {
  return rulesOf(scenario)
    .map(({ name }) => name)
    .sort((a, b) => orderOf(a) - orderOf(b));
}

const ORDER = ['SP', 'N1', 'I', 'III', 'V', 'p13', 'n23', 'n10', 'p15', 'Na', 'Pa', 'Nb', 'Pb', 'P1', 'P2'];

function orderOf(name: string): number {
  const at = ORDER.indexOf(name);
  return name === 'N1' ? 1.5 : at < 0 ? ORDER.length : at;
}

function kindRead({ response, stimulus }: Scenario): Exclude<Scenario['response']['kind'], 'none'> {
  if (response.kind !== 'none') return response.kind;
  return ({ click: 'click-abr', 'tone-burst': 'tone-abr', 'modulated-tone': 'steady-state' } as const)[stimulus.kind];
}

function rulesOf(scenario: Scenario): readonly PeakRule[] {
  const kind = kindRead(scenario);
  if (kind === 'steady-state') return [];
  if (kind === 'ecochg') {
    return [
      { name: 'SP', sign: -1, fromMs: 0.4, toMs: 2.5, troughMs: 1 },
      { name: 'N1', sign: -1, fromMs: 1, toMs: 3.5, troughMs: 1.2 },
    ];
  }
  return peakRules[kind].peaks;
}

function halfMsOf(scenario: Scenario): number {
  const kind = kindRead(scenario);
  return kind === 'ecochg' || kind === 'steady-state' ? 0.06 : peakRules[kind].halfMs;
}

/** What the reader needs to know of the trace. */
function readingContextOf(scenario: Scenario, rectifiedUv: number): ReadingContext {
  const { sampleRateHz, preSampleCount, analysisFrom, analysisTo } = averagingContext(scenario);
  return { sampleRateHz, preSampleCount, analysisFrom, analysisTo, rectifiedUv };
}

/** The noise of a trace: the look of its split buffers, the size of its claim. */
function noiseOf(scenario: Scenario, trace: DeskTrace): NoiseShape | null {
  const { analysisFrom, analysisTo, sampleRateHz } = averagingContext(scenario);
  const halfDifferenceUv = trace.bufferAUv.map((a, i) => (a - trace.bufferBUv[i]) / 2);
  if (!Number.isFinite(halfDifferenceUv[analysisFrom])) return null;
  return noiseShape(halfDifferenceUv, analysisFrom, analysisTo, sampleRateHz, trace.ownNoiseUv);
}

/**
 * Reads what a person has marked: each mark moves to the peak of its direction near by, refined by a parabola, with the
 * uncertainty that the noise of the average gives it.
 */
export function readMarks(scenario: Scenario, trace: DeskTrace, marks: Readonly<Record<string, number>>): ReadMarks {
  const noise = noiseOf(scenario, trace);
  const none = { peaks: [], offPeak: [], figures: [], errors: [], truthPeaks: [] };
  if (!noise) return none;
  const context = readingContextOf(scenario, trace.rectifiedUv);
  const kind = kindRead(scenario);
  const rules = rulesOf(scenario);
  const halfMs = halfMsOf(scenario);
  const peaks: ReadPeak[] = [];
  const offPeak: string[] = [];
  for (const rule of rules) {
    const markMs = marks[rule.name];
    if (markMs === undefined) continue;
    if (rule.name === 'SP') {
      peaks.push(shoulder(trace, context, markMs, noise.valueUv(1)));
      continue;
    }
    const reach = kind in REACH_MS ? REACH_MS[kind as 'ecochg'] : REACH_SHARE * (rule.toMs - rule.fromMs);
    const near: PeakRule = {
      name: rule.name,
      sign: rule.sign,
      fromMs: markMs - reach,
      toMs: markMs + reach,
      troughMs: rule.troughMs,
    };
    const [found] = readPeaks(trace.averageUv, context, noise, { halfMs, peaks: [near] });
    if (found) peaks.push(found);
    else offPeak.push(rule.name);
  }
  peaks.sort((a, b) => a.latencyMs - b.latencyMs);
  const truthPeaks = readResponse(scenario, trace.truthUv, context, NO_NOISE).peaks;
  return {
    peaks,
    offPeak,
    figures: figuresOf(kind, peaks, trace.rectifiedUv),
    errors: peakErrors(peaks, truthPeaks),
    truthPeaks,
  };
}

/** What two cursors measure on a trace. */
export interface CursorSpan {
  ms: number;
  /** Second − first, µV, and its noise, µV rms; NaN while the noise is not known. */
  uv: number;
  sdUv: number;
}

/** Measures from one place of a trace to another; neighbouring samples share their noise, so less of it is left. */
export function cursorSpan(scenario: Scenario, trace: DeskTrace, fromMs: number, toMs: number): CursorSpan {
  const { preSampleCount, sampleRateHz } = averagingContext(scenario);
  const sampleAt = (ms: number) => Math.round(preSampleCount + (ms * sampleRateHz) / 1000);
  const [from, to] = [sampleAt(fromMs), sampleAt(toMs)];
  const uv = (trace.averageUv[to] ?? NaN) - (trace.averageUv[from] ?? NaN);
  const sdUv = noiseOf(scenario, trace)?.differenceUv(1, Math.abs(to - from)) ?? NaN;
  return { ms: toMs - fromMs, uv, sdUv };
}

/** Marks where the rule finds peaks. */
export function marksByRule(scenario: Scenario, trace: DeskTrace): Record<string, number> {
  const noise = noiseOf(scenario, trace);
  if (!noise) return {};
  const { peaks } = readResponse(scenario, trace.averageUv, readingContextOf(scenario, trace.rectifiedUv), noise);
  return Object.fromEntries(peaks.map(({ name, latencyMs }) => [name, latencyMs]));
}

/** SP is a shoulder, read where it is marked, from the mean of the last ms before the stimulus. */
function shoulder(trace: DeskTrace, context: ReadingContext, markMs: number, sdUv: number): ReadPeak {
  const at = Math.round(context.preSampleCount + (markMs * context.sampleRateHz) / 1000);
  const amplitudeUv = (trace.averageUv[at] ?? NaN) - baselineUv(trace, context);
  return {
    name: 'SP',
    latencyMs: markMs,
    latencySdMs: NaN,
    amplitudeUv,
    amplitudeSdUv: sdUv,
    toTroughUv: NaN,
    toTroughSdUv: NaN,
    troughMs: NaN,
    clear: -amplitudeUv >= 2 * sdUv,
  };
}

function baselineUv(trace: DeskTrace, { preSampleCount, sampleRateHz }: ReadingContext): number {
  const from = Math.max(0, preSampleCount - Math.round(sampleRateHz / 1000));
  let sum = 0;
  for (let i = from; i < preSampleCount; i++) sum += trace.averageUv[i];
  return preSampleCount > from ? sum / (preSampleCount - from) : 0;
}

function figuresOf(kind: string, peaks: readonly ReadPeak[], rectifiedUv: number): Figure[] {
  const find = (name: string) => peaks.find((peak) => peak.name === name);
  if (kind === 'click-abr') return brainstemFigures(peaks);
  for (const [first, second] of [
    ['p13', 'n23'],
    ['n10', 'p15'],
    ['Na', 'Pa'],
    ['N1', 'P2'],
  ]) {
    const [a, b] = [find(first), find(second)];
    if (a && b) return muscleFigures(a, b, rectifiedUv);
  }
  const [sp, n1] = [find('SP'), find('N1')];
  if (kind === 'ecochg' && sp && n1) {
    return [ratioFigure('SP/AP by amplitude', -sp.amplitudeUv, sp.amplitudeSdUv, -n1.amplitudeUv, n1.amplitudeSdUv)];
  }
  return [];
}

/** The areas of an electrocochleogram, by the rule, with the figures made of them; null for other responses. */
export function cochlearAreas(scenario: Scenario, trace: DeskTrace) {
  if (kindRead(scenario) !== 'ecochg') return null;
  const noise = noiseOf(scenario, trace);
  return noise ? readCochlear(trace.averageUv, readingContextOf(scenario, NaN), noise) : null;
}

/** Asymmetry of two sides, raw and, where the activity is known, corrected by it; empty unless both have the peaks. */
export function sideFigures(
  left: readonly ReadPeak[] | null,
  right: readonly ReadPeak[] | null,
  activityUv: Record<'left' | 'right', number>,
): Figure[] {
  const size = (peaks: readonly ReadPeak[] | null, activity: number) =>
    peaks ? figuresOf('muscle', peaks, activity) : [];
  const [l, r] = [size(left, activityUv.left), size(right, activityUv.right)];
  return l.slice(0, r.length).map((figureLeft, k) => ({
    ...asymmetry(figureLeft.value, figureLeft.sd, r[k].value, r[k].sd),
    name: k === 0 ? 'Asymmetry, raw' : 'Asymmetry, for equal activity',
  }));
}
