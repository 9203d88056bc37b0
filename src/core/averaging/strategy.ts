import type { TObject } from '@sinclair/typebox';
import type { Baseline } from './baseline.ts';

/** What a strategy may know of the recording before the first sweep. Truth is never part of it. */
export interface AveragingContext {
  samplesPerSweep: number;
  sampleRateHz: number;
  /** Samples of each sweep that lie before the stimulus. */
  preSampleCount: number;
  /** The analysis window as samples [from, to): noise is judged here. */
  analysisFrom: number;
  analysisTo: number;
  /** Whether sweeps flagged over-range are to be left out. */
  respectFlags: boolean;
  /** What has been taken off the sweeps, for strategies that hear the recording itself; left out means none. */
  baseline?: Baseline;
}

/** The continuous recording up to the end of a sweep, so that a strategy can hear what lies between two sweeps. */
export interface IntervalSamples {
  /**
   * µV, no baseline taken off: from the end of the sweep before (at most one beat back) to the end of this one, whose
   * samples come last. Reused for the next sweep.
   */
  samplesUv: Float64Array;
  /** Number of its first sample in the recording: tells the phase of the mains. */
  firstSample: number;
}

/** What comes along with a sweep: all of it could be known at the bedside at that moment. */
export interface SweepMeta {
  /** Number of the sweep, from 0. */
  index: number;
  /** Stimulation time at which the sweep was complete, s. */
  timeS: number;
  /** +1 condensation, −1 rarefaction. */
  polarity: 1 | -1;
  /** The converter was over-range, or its guard time still ran, within this sweep. */
  overRange: boolean;
  /** Upward gaze by a gaze sensor, °; missing without one. Like `moved` given to strategies that declare `usesBehaviour`. */
  gazeDeg?: number;
  /** A motion sensor on the head reported movement within this sweep; missing without one. */
  moved?: boolean;
  /** Given only to strategies that declare `usesInterval`, where the recording is continuous. */
  interval?: IntervalSamples;
}

/** Why a sweep got its weight. `measureUv` and `limitUv` of a `SweepVerdict` mean what the strategy's `explain` says. */
export type WeightReason = 'taken' | 'down-weighted' | 'rejected' | 'flagged' | 'waiting';

/** One strategy's decision on one sweep. Delayed strategies decide on several sweeps at once. */
export interface SweepVerdict {
  index: number;
  /** Share of this sweep relative to others, ≥ 0, at the moment of decision. */
  weight: number;
  /** At this decision the shares of all earlier sweeps are multiplied by this, 0 < fade ≤ 1; 1 = nothing is forgotten. */
  fade: number;
  reason: WeightReason;
  measureUv: number;
  limitUv: number;
}

/** Receives the verdicts; the object is reused, so copy what is to be kept. */
export type VerdictListener = (verdict: Readonly<SweepVerdict>) => void;

/** One running average. */
export interface Averager {
  /** Takes in the next sweep, µV, `samplesPerSweep` long; it is not kept. */
  add(sweepUv: Float64Array, meta: Readonly<SweepMeta>): void;
  /** Writes the average so far, µV; NaN before the first sweep counts. */
  read(outUv: Float64Array): void;
  /**
   * Writes the split-buffer pair, µV: alternate pairs of sweeps go to A and to B, under this strategy's own weights,
   * so that each buffer holds both polarities. NaN until a buffer has a sweep.
   */
  readPair(outAUv: Float64Array, outBUv: Float64Array): void;
  /** The strategy's own claim of its residual noise, µV rms over the analysis window; NaN until it can tell. */
  ownNoiseUv(): number;
  /** Sweeps that count in the average so far. */
  usedCount(): number;
  /** (Σw)²/Σw²: how many equally weighted sweeps would be as independent; 0 before the first. */
  effectiveCount(): number;
  /** Hindsight only: tells the listener one verdict for every sweep so far, as they stand now. */
  settle?(): void;
  /** Bytes that are held now, by it and whoever shares its memory; only where that can be asked (in a sandbox). */
  heldBytes?(): number;
  /** Frees at once what lies outside this program's memory; nothing may be asked afterwards. */
  release?(): void;
}

/** One way of averaging. */
export interface AveragingStrategy<Parameters = unknown> {
  /** Stored in scenarios, lessons and results: never renamed. */
  id: string;
  /** Key of its tunables under `averaging` in a scenario. */
  scenarioKey: string;
  label: string;
  /** One sentence for lists. */
  summary: string;
  parameters: TObject;
  /**
   * online: decides on arrival; delayed: after at most `longestWait` sweeps; hindsight: decides on all sweeps anew each
   * time, keeps them all, and is run again from the start at every point of time at which it is read.
   */
  timing: 'online' | 'delayed' | 'hindsight';
  /** Delayed only: most sweeps that may be waiting at any time; without it, `blockLength`. */
  longestWait?(parameters: Parameters): number;
  /** The order of the sweeps does not matter, nor which of them are flagged. */
  orderFree?: true;
  /** The average is not Σ share · sweep (per sample, per band, or after a subtraction): shares are then a summary. */
  approximateShares?: true;
  /** Takes a model of drift and mains off the sweeps, so that the same sweep again and again is not given back. */
  subtracts?: true;
  /**
   * Its weights do not depend on the sign of a sweep, nor on the average so far (for blocks: to 1 in the number of
   * sweeps): tests that turn groups of sweeps upside down are valid for its average. Left out means that they are not.
   */
  signFree?: true;
  /** Wants `meta.interval`. */
  usesInterval?: true;
  /** Wants `meta.gazeDeg` and `meta.moved`. */
  usesBehaviour?: true;
  create(context: AveragingContext, parameters: Parameters, listener: VerdictListener): Averager;
  /** Says in plain words why a sweep got its weight. */
  explain(verdict: Readonly<SweepVerdict>): string;
}

/**
 * Weight, 1/µV², of what shows no noise at all and so cannot be weighed: that of 10⁶ µV rms, our choice.
 *
 * Equal sweeps then average to that sweep, and as soon as anything else is known they no longer matter: nothing pinned
 * can take over.
 */
export const FAINT_WEIGHT = 1e-12;

/** True if the sweep with this index goes to buffer A: pairs of sweeps alternate, so polarity stays balanced. */
export function belongsToA(index: number): boolean {
  return index % 4 < 2;
}

/** Mean square of the sweep over samples [from, to), µV². */
export function meanSquareUv2(sweepUv: Float64Array, from: number, to: number): number {
  return sumOfSquaresUv2(sweepUv, from, to) / (to - from);
}

/** Sum of the squares of samples [from, to), µV²: in four sums, since an addition waits for the one before it. */
export function sumOfSquaresUv2(sweepUv: Float64Array, from: number, to: number): number {
  let sum0 = 0;
  let sum1 = 0;
  let sum2 = 0;
  let sum3 = 0;
  let i = from;
  for (; i + 3 < to; i += 4) {
    sum0 += sweepUv[i] * sweepUv[i];
    sum1 += sweepUv[i + 1] * sweepUv[i + 1];
    sum2 += sweepUv[i + 2] * sweepUv[i + 2];
    sum3 += sweepUv[i + 3] * sweepUv[i + 3];
  }
  for (; i < to; i++) sum0 += sweepUv[i] * sweepUv[i];
  return sum0 + sum1 + (sum2 + sum3);
}
