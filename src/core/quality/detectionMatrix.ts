import type { Verdict } from './visualRule.ts';

/** One verdict with what is true: the level above the patient's own threshold. */
export interface JudgedRun {
  /** dB above the true threshold; below 0 there is no response. */
  aboveThresholdDb: number;
  verdict: Verdict;
}

/** Verdicts at one level. */
interface DetectionRow {
  aboveThresholdDb: number;
  runCount: number;
  presentCount: number;
  absentCount: number;
  cannotTellCount: number;
  /** 'present' below threshold or 'absent' from threshold on, with its 95 % interval. */
  wrongShare: number;
  wrongLow: number;
  wrongHigh: number;
}

/** Verdicts over all levels. */
export interface DetectionMatrix {
  rows: DetectionRow[];
  /** Share of 'present' among runs below threshold; NaN without such runs. */
  falsePresent: number;
  /** Share of 'absent' among runs from threshold on. */
  falseAbsent: number;
  cannotTell: number;
}

/**
 * Counts false present, false absent and cannot tell against the level relative to the true threshold.
 *
 * @param runs - any order   @throws {RangeError} for a level that is NaN
 */
export function detectionMatrix(runs: readonly JudgedRun[]): DetectionMatrix {
  for (const { aboveThresholdDb } of runs) {
    if (Number.isNaN(aboveThresholdDb)) throw new RangeError('detectionMatrix: levels must be numbers, got NaN');
  }
  const levels = [...new Set(runs.map((run) => run.aboveThresholdDb))].sort((a, b) => a - b);
  const rows = levels.map((aboveThresholdDb) => {
    const here = runs.filter((run) => run.aboveThresholdDb === aboveThresholdDb);
    const counted = (verdict: Verdict) => here.filter((run) => run.verdict === verdict).length;
    const wrong = counted(aboveThresholdDb < 0 ? 'present' : 'absent');
    const { low, high } = shareInterval(wrong, here.length);
    return {
      aboveThresholdDb,
      runCount: here.length,
      presentCount: counted('present'),
      absentCount: counted('absent'),
      cannotTellCount: counted('cannot-tell'),
      wrongShare: wrong / here.length,
      wrongLow: low,
      wrongHigh: high,
    };
  });
  const share = (verdict: Verdict, among: (db: number) => boolean) => {
    const those = runs.filter((run) => among(run.aboveThresholdDb));
    return those.filter((run) => run.verdict === verdict).length / those.length;
  };
  return {
    rows,
    falsePresent: share('present', (db) => db < 0),
    falseAbsent: share('absent', (db) => db >= 0),
    cannotTell: share('cannot-tell', () => true),
  };
}

/**
 * Gives the 95 % interval of a share: E. B. Wilson, J. Am. Stat. Assoc. 22, 1927, 209–212 (from memory).
 *
 * @example shareInterval(0, 10) // { low: 0, high: 0.2775 }
 */
export function shareInterval(hits: number, count: number): { low: number; high: number } {
  if (!(count >= 1)) return { low: NaN, high: NaN };
  const z = 1.959963984540054;
  const share = hits / count;
  const spread = (z * z) / count;
  const centre = (share + spread / 2) / (1 + spread);
  const half = (z / (1 + spread)) * Math.sqrt((share * (1 - share)) / count + spread / (4 * count));
  return { low: Math.max(0, centre - half), high: Math.min(1, centre + half) };
}
