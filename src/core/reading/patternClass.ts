import { exp, log } from '../elementary.ts';
import { clickLatencyVMs } from '../response/clickAbr.ts';
import { recruited } from '../response/heardEars.ts';
import type { LevelLatency } from './latencyIntensity.ts';

/** How wave V moves with level, and what that is typical of. */
export type LatencyPattern = 'normal' | 'parallel-shift' | 'steep' | 'prolonged-interval';

/** What the reading of an ear knows. */
export interface PatternEvidence {
  /** Clicks per second: faster is later. */
  ratePerS: number;
  /** Wave V at several click levels. */
  waveV: readonly LevelLatency[];
  /** The I–V interval with its σ, ms, where wave I could be read. */
  intervalMs?: { value: number; sd: number };
}

interface PatternModel {
  pattern: LatencyPattern;
  /** Strengths of the disorder, all held equally likely. */
  strengths: readonly number[];
  /** Wave V of the model click, ms; NaN where nothing is heard. */
  latencyMs(levelDbNhl: number, strength: number): number;
  intervalMs(strength: number): number;
}

const range = (from: number, to: number, step: number) =>
  Array.from({ length: Math.round((to - from) / step) + 1 }, (_, k) => from + k * step);

const USUAL_INTERVAL_MS = 3.74; // ms, measured: I–V between the marks of the click model at 27.7/s and the usual filters
const PERSON_LATENCY_SD_MS = 0.2; // ms, model values: scatter between people, common to all levels
const PERSON_INTERVAL_SD_MS = 0.17;
const MODEL_SD_MS = 0.05; // ms, our choice: what the yardstick itself may be off

/** Where the click model's wave V is marked at 27.7/s, ms: earlier than its component, because wave IV is fused with it. */
function markedVMs(levelDb: number): number {
  // Measured on the noise-free response through the usual filters from 20 to 85 dB nHL; off by less than 0.03 ms.
  return clickLatencyVMs(levelDb) - 0.06 - 0.0025 * Math.max(0, levelDb - 30);
}

/**
 * Where wave V of a click lies in normal ears of the model: mean and scatter between people.
 *
 * Model values, the yardstick of `patternProbabilities`: not normative, and no substitute for one's own norms.
 *
 * @returns ms   @example usualWaveV(75, 27.7).latencyMs // 5.46
 */
export function usualWaveV(levelDbNhl: number, ratePerS: number): { latencyMs: number; sdMs: number } {
  return { latencyMs: markedVMs(levelDbNhl) + 0.0055 * (ratePerS - 27.7), sdMs: PERSON_LATENCY_SD_MS };
}

/** Four patterns; each averages over the strengths a disorder may have. Curves are those of the click model. */
const models: readonly PatternModel[] = [
  { pattern: 'normal', strengths: [0], latencyMs: (level) => markedVMs(level), intervalMs: () => USUAL_INTERVAL_MS },
  {
    pattern: 'parallel-shift', // conductive: as if the sound were fainter
    strengths: range(15, 55, 5),
    latencyMs: (level, lossDb) => (level - lossDb < 3 ? NaN : markedVMs(level - lossDb)),
    intervalMs: () => USUAL_INTERVAL_MS,
  },
  {
    pattern: 'steep', // cochlear: late near threshold, normal when loud
    strengths: range(30, 70, 5),
    latencyMs(level, thresholdDb) {
      const { levelDbNhl, timingDbNhl } = recruited(level, thresholdDb);
      return levelDbNhl < 3 ? NaN : markedVMs(timingDbNhl);
    },
    intervalMs: () => USUAL_INTERVAL_MS,
  },
  {
    pattern: 'prolonged-interval', // slow nerve: late by the same at every level, and so is I–V
    strengths: range(0.3, 1.2, 0.1),
    latencyMs: (level, delayMs) => markedVMs(level) + delayMs,
    intervalMs: (delayMs) => USUAL_INTERVAL_MS + delayMs,
  },
];

/**
 * Weighs four patterns of wave V over level against each other.
 *
 *     P(pattern | readings) ∝ mean over strengths of the Gaussian likelihood,   all patterns equally likely beforehand
 *
 * The covariance of the latencies is σ² of each reading on the diagonal plus 0.2² throughout, the scatter between people;
 * the interval scatters by 0.17 ms on its own. Patterns that are not in the list cannot be found. The click model is the
 * yardstick: real ears need one's own norms.
 *
 * @returns probabilities that add up to 1   @throws {RangeError} without a reading
 */
export function patternProbabilities({ ratePerS, waveV, intervalMs }: PatternEvidence): Record<LatencyPattern, number> {
  if (waveV.length === 0) throw new RangeError('patternProbabilities: at least 1 latency is needed, got none');
  const fasterMs = 0.0055 * (ratePerS - 27.7); // as in the click model
  const logs = models.map(({ strengths, latencyMs, intervalMs: expected }) => {
    const each = strengths.map((strength) => {
      const residuals = waveV.map((reading) => reading.latencyMs - fasterMs - latencyMs(reading.levelDbNhl, strength));
      let logLikelihood = commonScatterLog(residuals, waveV);
      if (intervalMs) {
        const variance = intervalMs.sd * intervalMs.sd + PERSON_INTERVAL_SD_MS * PERSON_INTERVAL_SD_MS;
        const away = intervalMs.value - (fasterMs * 0.004) / 0.0055 - expected(strength); // I–V + 0.004 ms per 1/s
        logLikelihood -= (away * away) / (2 * variance);
      }
      return Number.isNaN(logLikelihood) ? -1e9 : logLikelihood; // a response where the pattern hears nothing
    });
    const most = Math.max(...each);
    let sum = 0;
    for (const value of each) sum += exp(value - most);
    return most + log(sum / each.length);
  });
  const most = Math.max(...logs);
  const weights = logs.map((value) => exp(value - most));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const probability = (pattern: LatencyPattern) =>
    weights[models.findIndex((model) => model.pattern === pattern)] / total;
  return {
    normal: probability('normal'),
    'parallel-shift': probability('parallel-shift'),
    steep: probability('steep'),
    'prolonged-interval': probability('prolonged-interval'),
  };
}

/** Log-likelihood of residuals with variances v_k and a common scatter p²: r'(D + p²·11')⁻¹r by Sherman & Morrison. */
function commonScatterLog(residuals: readonly number[], waveV: readonly LevelLatency[]): number {
  let weights = 0;
  let weighted = 0;
  let squares = 0;
  for (const [k, residual] of residuals.entries()) {
    const weight = 1 / (waveV[k].latencySdMs * waveV[k].latencySdMs + MODEL_SD_MS * MODEL_SD_MS);
    weights += weight;
    weighted += weight * residual;
    squares += weight * residual * residual;
  }
  const common = PERSON_LATENCY_SD_MS * PERSON_LATENCY_SD_MS;
  return -0.5 * (squares - (common * weighted * weighted) / (1 + common * weights));
}
