import type { SweepMeta } from '../../src/core/averaging/strategy.ts';
import { fillGaussian, type Stream } from '../../src/core/random/stream.ts';
import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import { laneOf, openLane } from '../../src/core/session/lanes.ts';
import { deviation, mean } from './raceRuns.ts';

export const POINTS = 80;
export const PRE = 40;
const scenario = resolveScenario({});

/** Context of sweeps that are made by hand: 40 samples before the stimulus, 40 in the analysis window. */
export const syntheticContext = {
  samplesPerSweep: POINTS,
  sampleRateHz: 16000,
  preSampleCount: PRE,
  analysisFrom: PRE,
  analysisTo: POINTS,
  respectFlags: true,
};

/** A response of the given peak in the second half of the sweep, µV: one and a half waves. */
export const response = (peakUv: number): Float64Array =>
  Float64Array.from({ length: POINTS }, (_, i) =>
    i < PRE ? 0 : peakUv * Math.sin(((i - PRE + 0.5) / (POINTS - PRE)) * 3 * Math.PI),
  );

export function white(draws: Stream, sdUv: number): Float64Array {
  const sweepUv = new Float64Array(POINTS);
  fillGaussian(draws, sweepUv, POINTS);
  return sweepUv.map((value) => sdUv * value);
}

export const plus = (a: Float64Array, b: Float64Array, factor = 1) => a.map((value, i) => value + factor * b[i]);

/** Runs sweeps past one strategy with the default tunables, or others. Returns the average and what can be asked. */
export function averaged(
  strategy: string,
  sweepsUv: readonly Float64Array[],
  tunables: Record<string, number> = {},
  meta: (k: number) => Partial<SweepMeta> = () => ({}),
) {
  const { averager } = openLane(laneOf(scenario, strategy, tunables), syntheticContext);
  for (const [index, sweepUv] of sweepsUv.entries()) {
    averager.add(sweepUv, {
      ...{ index, timeS: (index + 1) / 30, polarity: index % 2 === 0 ? 1 : -1, overRange: false },
      ...meta(index),
    });
  }
  const averageUv = new Float64Array(POINTS);
  averager.read(averageUv);
  return { averageUv, ownNoiseUv: averager.ownNoiseUv(), usedCount: averager.usedCount() };
}

/** Size of a response in an average, in units of the true one. */
export function gainOf(averageUv: Float64Array, truthUv: Float64Array): number {
  let product = 0;
  let power = 0;
  for (let i = PRE; i < POINTS; i++) {
    product += averageUv[i] * truthUv[i];
    power += truthUv[i] * truthUv[i];
  }
  return product / power;
}

/** Root mean square error in the analysis window, µV. */
export function errorOf(averageUv: Float64Array, truthUv: Float64Array): number {
  let sum = 0;
  for (let i = PRE; i < POINTS; i++) sum += (averageUv[i] - truthUv[i]) ** 2;
  return Math.sqrt(sum / (POINTS - PRE));
}

/** Mean over replicates with its interval: two-sided 99.9 %, normal. */
export function interval(values: readonly number[]): { value: number; low: number; high: number } {
  const value = mean(values);
  const reach = (3.3 * deviation(values)) / Math.sqrt(values.length);
  return { value, low: value - reach, high: value + reach };
}

export const replicates = <T>(count: number, run: (r: number) => T): T[] =>
  Array.from({ length: count }, (_, r) => run(r));
