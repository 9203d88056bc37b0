import { exp, log } from '../elementary.ts';
import type { Verdict } from '../quality/visualRule.ts';

/** A verdict at one level. */
export interface LevelVerdict {
  levelDb: number;
  verdict: Verdict;
}

/** A threshold found by bracketing. */
export interface BracketedThreshold {
  /** Lowest level with a response, all higher ones too; NaN if there is none. */
  lowestPresentDb: number;
  /** Highest level without a response below it; NaN if there is none. */
  highestAbsentDb: number;
  /** Midpoint of the two; NaN where one is missing: the threshold then lies beyond the levels tried. */
  midpointDb: number;
  /** Half the width of the bracket; NaN where it is open. */
  uncertaintyDb: number;
  /** True if a level above one with a response has none: repeat before anything is concluded. */
  contradictory: boolean;
}

/**
 * Brackets a threshold between the lowest response and the highest absence below it.
 *
 * 'cannot-tell' is neither: it widens the bracket. Where verdicts contradict each other the response counts from the
 * highest absence upwards. A level with several verdicts counts as present if most of those that judge it say so.
 *
 * @param verdicts - any order   @returns dB of the levels given
 */
export function bracketThreshold(verdicts: readonly LevelVerdict[]): BracketedThreshold {
  const judged = verdicts.filter(({ verdict }) => verdict !== 'cannot-tell');
  const levels = [...new Set(judged.map(({ levelDb }) => levelDb))].sort((a, b) => b - a);
  const isPresent = (levelDb: number) => {
    const here = judged.filter((entry) => entry.levelDb === levelDb);
    return 2 * here.filter(({ verdict }) => verdict === 'present').length > here.length;
  };
  let lowestPresentDb = NaN;
  let highestAbsentDb = NaN;
  let contradictory = false;
  for (const levelDb of levels) {
    if (!isPresent(levelDb)) {
      if (Number.isNaN(highestAbsentDb)) highestAbsentDb = levelDb;
    } else if (Number.isNaN(highestAbsentDb)) lowestPresentDb = levelDb;
    else contradictory = true;
  }
  return {
    lowestPresentDb,
    highestAbsentDb,
    midpointDb: (lowestPresentDb + highestAbsentDb) / 2,
    uncertaintyDb: (lowestPresentDb - highestAbsentDb) / 2,
    contradictory,
  };
}

/** Detections at one level. */
export interface DetectionCount {
  levelDb: number;
  runCount: number;
  detectedCount: number;
}

/** A threshold by logistic fit. */
export interface LogisticThreshold {
  /** Level at which half of the runs are detected; NaN if the runs cannot tell. */
  thresholdDb: number;
  thresholdSdDb: number;
  /** Level difference from 50 % to 73 %; 0 for a step. */
  spreadDb: number;
  /** False where the counts are a clean step or all alike: then there is no σ. */
  fitted: boolean;
}

/**
 * Fits a logistic curve to detections over level, by maximum likelihood.
 *
 *     P(detected) = 1/(1 + e^(−(L − θ)/s)),   Newton's method on the slope and intercept
 *
 * Independent runs; no lapses and no false alarms: with a false-alarm rate the curve does not go down to 0 and θ comes out
 * low. A clean step has no finite slope: θ is then the middle of the step.
 *
 * @throws {RangeError} for counts that cannot be
 */
export function logisticThreshold(counts: readonly DetectionCount[]): LogisticThreshold {
  for (const { runCount, detectedCount } of counts) {
    if (!(detectedCount >= 0 && detectedCount <= runCount && runCount >= 1)) {
      throw new RangeError(
        `logisticThreshold: detectedCount must lie within 0 to runCount, got ${detectedCount} of ${runCount}`,
      );
    }
  }
  const missed = counts.filter((entry) => entry.detectedCount < entry.runCount).map(({ levelDb }) => levelDb);
  const detected = counts.filter((entry) => entry.detectedCount > 0).map(({ levelDb }) => levelDb);
  const highestMissed = Math.max(...missed);
  const lowestDetected = Math.min(...detected);
  if (!(highestMissed > lowestDetected)) {
    const known = missed.length > 0 && detected.length > 0;
    const thresholdDb = known ? (highestMissed + lowestDetected) / 2 : NaN;
    return { thresholdDb, thresholdSdDb: NaN, spreadDb: known ? 0 : NaN, fitted: false };
  }
  const total = counts.reduce((sum, entry) => sum + entry.runCount, 0);
  const centreDb = counts.reduce((sum, entry) => sum + entry.runCount * entry.levelDb, 0) / total;
  let intercept = 0;
  let slope = 0;
  let information = [0, 0, 0]; // of intercept², intercept·slope, slope²
  for (let step = 0; step < 100; step++) {
    const gradient = [0, 0];
    information = [0, 0, 0];
    for (const { levelDb, runCount, detectedCount } of counts) {
      const x = levelDb - centreDb;
      const probability = 1 / (1 + exp(-(intercept + slope * x)));
      const rest = detectedCount - runCount * probability;
      const weight = runCount * probability * (1 - probability);
      gradient[0] += rest;
      gradient[1] += rest * x;
      information[0] += weight;
      information[1] += weight * x;
      information[2] += weight * x * x;
    }
    const determinant = information[0] * information[2] - information[1] * information[1];
    const moveIntercept = (information[2] * gradient[0] - information[1] * gradient[1]) / determinant;
    const moveSlope = (information[0] * gradient[1] - information[1] * gradient[0]) / determinant;
    // A full step may overshoot where the curve is flat: never more than 3 in the logit at 20 dB from the centre.
    const size = Math.abs(moveIntercept) + 20 * Math.abs(moveSlope);
    const damp = size > 3 ? 3 / size : 1;
    intercept += damp * moveIntercept;
    slope += damp * moveSlope;
    if (size < 1e-10) break;
  }
  if (!(slope > 0)) return { thresholdDb: NaN, thresholdSdDb: NaN, spreadDb: NaN, fitted: false };
  const determinant = information[0] * information[2] - information[1] * information[1];
  // θ = −intercept/slope: dθ = −(d intercept + θ·d slope)/slope, θ counted from the centre.
  const fromCentre = -intercept / slope;
  const variance =
    (information[2] - 2 * fromCentre * information[1] + fromCentre * fromCentre * information[0]) /
    (determinant * slope * slope);
  return {
    thresholdDb: centreDb + fromCentre,
    thresholdSdDb: Math.sqrt(variance),
    spreadDb: log(1 / (1 / 0.7310585786300049 - 1)) / slope,
    fitted: true,
  };
}

/** What is taken off a threshold in dB nHL to estimate the hearing level, by frequency. */
export type HearingCorrection = readonly { frequencyHz: number; correctionDb: number }[];

/**
 * Corrections for tone bursts, dB: 20, 15, 10, 5 at 0.5, 1, 2, 4 kHz.
 *
 * From memory of newborn programmes for insert earphones: illustrative, and to be replaced by one's own.
 */
const TONE_BURST_CORRECTION: HearingCorrection = [
  { frequencyHz: 500, correctionDb: 20 },
  { frequencyHz: 1000, correctionDb: 15 },
  { frequencyHz: 2000, correctionDb: 10 },
  { frequencyHz: 4000, correctionDb: 5 },
];

/**
 * Estimates the hearing level from a threshold: dB eHL = dB nHL − correction.
 *
 * @throws {RangeError} for a frequency that the table does not have
 * @example estimatedHearingDb(35, 1000) // 20
 */
export function estimatedHearingDb(
  thresholdDbNhl: number,
  frequencyHz: number,
  corrections: HearingCorrection = TONE_BURST_CORRECTION,
): number {
  const entry = corrections.find((candidate) => candidate.frequencyHz === frequencyHz);
  if (entry) return thresholdDbNhl - entry.correctionDb;
  const known = corrections.map((candidate) => candidate.frequencyHz).join(', ');
  throw new RangeError(`estimatedHearingDb: frequencyHz must be one of ${known}, got ${frequencyHz}`);
}
