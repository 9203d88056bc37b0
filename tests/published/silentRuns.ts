import { evenPoints, fRatio } from '../../src/core/quality/fsp.ts';
import { sweepScatter } from '../../src/core/quality/sweepScatter.ts';
import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import { averagingContext, startSession } from '../../src/core/session/session.ts';

/** A patient without a response or hum whose EEG is steady; 8000 samples a second are enough for 100 to 1500 Hz. */
export const SILENT = {
  response: { kind: 'none' },
  stimulus: { ratePerS: 31 },
  mains: { fundamentalUv: 0 },
  eeg: { gainLogSd: 0 },
  converter: { sampleRateHz: 8000 },
};

/** Cuts the analysis window out of the first sweeps of a session. */
export function windows(document: Record<string, object>, seed: string, count: number): Float64Array[] {
  const scenario = resolveScenario({ ...document, session: { durationS: count / 31 + 1 } });
  const { analysisFrom, analysisTo } = averagingContext(scenario);
  const session = startSession(scenario, seed);
  const cut: Float64Array[] = [];
  for (let sweep = session.nextSweep(); sweep && cut.length < count; sweep = session.nextSweep()) {
    cut.push(sweep.recordedUv[0].slice(analysisFrom, analysisTo));
  }
  return cut;
}

/** Fmp after every `perLook` sweeps, `lookCount` times. */
export function fmpLooks(sweepsUv: readonly Float64Array[], perLook: number, lookCount: number): number[] {
  const points = sweepsUv[0].length;
  const scatter = sweepScatter(points);
  const averageUv = new Float64Array(points);
  const noiseUv2 = new Float64Array(points);
  const looks: number[] = [];
  for (const [k, sweepUv] of sweepsUv.entries()) {
    scatter.add(sweepUv);
    if ((k + 1) % perLook !== 0 || looks.length === lookCount) continue;
    scatter.read(averageUv);
    scatter.readNoiseUv2(noiseUv2);
    looks.push(fRatio(averageUv, noiseUv2, evenPoints(points, points)));
  }
  return looks;
}

/**
 * The same for many runs at little cost: each look adds one sweep of a long recording in place of the mean of a batch.
 *
 * A mean of Gaussian sweeps looks like a smaller sweep, so only the noise in the denominator is better known than in a
 * real run: it is that of the whole recording.
 */
export function longRunLooks(sweepsUv: readonly Float64Array[], lookCount: number): Float64Array[] {
  const points = sweepsUv[0].length;
  const scatter = sweepScatter(points);
  for (const sweepUv of sweepsUv) scatter.add(sweepUv);
  const singleUv2 = scatter.noiseUv(0, points) ** 2 * sweepsUv.length;
  const runs: Float64Array[] = [];
  for (let first = 0; first + lookCount <= sweepsUv.length; first += lookCount) {
    const sumUv = new Float64Array(points);
    runs.push(
      Float64Array.from({ length: lookCount }, (_, look) => {
        for (let i = 0; i < points; i++) sumUv[i] += sweepsUv[first + look][i];
        const count = look + 1;
        const averageUv = sumUv.map((value) => value / count);
        return fRatio(averageUv, new Float64Array(points).fill(singleUv2 / count), [0]);
      }),
    );
  }
  return runs;
}
