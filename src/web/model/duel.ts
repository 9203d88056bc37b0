import { residualNoiseUv } from '../../core/quality/residualNoise.ts';
import { averagingContext } from '../../core/session/session.ts';
import type { CurveTable } from './curveTables.ts';
import { laneLetters } from './narration.ts';
import type { RunRecord } from './runRecord.ts';

/** Two lanes on the same sweeps, the second against the first. */
export interface Duel {
  lanes: readonly [number, number];
  /** Second − first, µV. */
  differenceUv: Float64Array;
  /** Noise of that difference, µV rms; NaN while the split buffers are not both filled. */
  noiseUv: number;
  /** Its size within the analysis window, µV rms. */
  differenceRmsUv: number;
  /** Part of the analysis window in which it is larger than twice its noise, 0 … 1. */
  beyondShare: number;
}

/**
 * Sets two lanes against each other as they stand.
 *
 * The lanes share most of their noise, so the noise of the difference is not that of the averages: it comes from the
 * split buffers of the difference itself, and cancels where both lanes did the same.
 */
export function duelOf(record: RunRecord, first: number, second: number): Duel {
  const { analysisFrom, analysisTo } = averagingContext(record.scenario);
  const [a, b] = [record.lanes[first], record.lanes[second]];
  const minus = (one: Float32Array, other: Float32Array) => Float64Array.from(one, (value, i) => value - other[i]);
  const differenceUv = minus(b.averageUv, a.averageUv);
  const buffers = [minus(b.bufferAUv, a.bufferAUv), minus(b.bufferBUv, a.bufferBUv)] as const;
  const halfUv = buffers[0].map((value, i) => (value - buffers[1][i]) / 2);
  const zero = new Float64Array(differenceUv.length);
  const noiseUv = residualNoiseUv(halfUv, zero, analysisFrom, analysisTo);
  let beyond = 0;
  for (let i = analysisFrom; i < analysisTo; i++) if (Math.abs(differenceUv[i]) > 2 * noiseUv) beyond++;
  return {
    lanes: [first, second],
    differenceUv,
    noiseUv,
    differenceRmsUv: residualNoiseUv(differenceUv, zero, analysisFrom, analysisTo),
    beyondShare: noiseUv >= 0 ? beyond / (analysisTo - analysisFrom) : NaN,
  };
}

/** One sweep that two lanes took differently. */
export interface Disagreement {
  index: number;
  /** Weight over the mean weight of the lane, first and second. */
  weights: readonly [number, number];
}

/**
 * The sweeps on which two lanes disagree most, most first: by the difference of the roots of their normalised weights, so
 * that one left out weighs more than one that counts double.
 */
export function disagreements(record: RunRecord, { lanes: [first, second] }: Duel, count = 10): Disagreement[] {
  const all: Disagreement[] = [];
  for (let index = 0; index < record.offeredCount; index++) {
    const weights = [record.normalisedWeight(first, index), record.normalisedWeight(second, index)] as const;
    if (Number.isFinite(weights[0]) && Number.isFinite(weights[1])) all.push({ index, weights });
  }
  return all
    .sort((a, b) => gapOf(b) - gapOf(a))
    .slice(0, count)
    .filter((one) => gapOf(one) > 0);
}

function gapOf({ weights: [first, second] }: Disagreement): number {
  return Math.abs(Math.sqrt(Math.max(0, second)) - Math.sqrt(Math.max(0, first)));
}

/** The duel as tables: the difference over the window, and the weights of every sweep. */
export function duelTables(duel: Duel): CurveTable[] {
  const [first, second] = duel.lanes.map((lane) => laneLetters[lane]);
  return [
    {
      id: 'duel-difference',
      label: `Duel: ${second} − ${first}`,
      rows({ record, scenario }) {
        const stepMs = 1000 / scenario.converter.sampleRateHz;
        const [a, b] = duel.lanes.map((lane) => record.lanes[lane].averageUv);
        const rows = Array.from(duel.differenceUv, (uv, i) => [(i - record.preSampleCount) * stepMs, a[i], b[i], uv]);
        return [['timeMs', `${first} (µV)`, `${second} (µV)`, 'difference (µV)'], ...rows];
      },
    },
    {
      id: 'duel-weights',
      label: 'Duel: weights of every sweep',
      rows({ record }) {
        const [a, b] = duel.lanes;
        const rows = Array.from({ length: record.offeredCount }, (_, k) => [
          k + 1,
          record.normalisedWeight(a, k),
          record.normalisedWeight(b, k),
        ]);
        return [['sweep', `${first} weight`, `${second} weight`], ...rows];
      },
    },
  ];
}
