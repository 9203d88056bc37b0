import type { LaneResult } from '../core/session/laneResult.ts';

/** What a figure is computed from: one lane of one patient. */
export interface MeasuredRun {
  lane: LaneResult;
  targetNv: number;
  durationS: number;
}

/** One figure of one run of one setting. */
export interface Measure {
  /** Stored in study files and tables: never renamed. */
  id: string;
  /** Column of the tables, with its unit. */
  column: string;
  label: string;
  unit: string;
  /** lower: small is good; higher: large is good; one: 1 is right. */
  better: 'lower' | 'higher' | 'one';
  /** Whether ratios or differences matter: comparisons and precision use the logarithm for log. */
  scale: 'log' | 'linear';
  /** How the expectation over replicates is formed. */
  centre: 'rms' | 'mean' | 'median';
  /** The figure; NaN where it cannot be told. */
  of(run: MeasuredRun): number;
}

/** Every measure that a study can ask for. */
export const studyMeasures: readonly Measure[] = [
  {
    id: 'residual-noise',
    column: 'residualNoiseNv',
    label: 'Residual noise at the end',
    unit: 'nV',
    better: 'lower',
    scale: 'log',
    centre: 'rms',
    of: ({ lane }) => (lane.sweepsUsed > 0 ? lane.residualNoiseNv : NaN),
  },
  {
    id: 'seconds-to-target',
    column: 'secondsToTarget',
    label: 'Time to target',
    unit: 's',
    better: 'lower',
    scale: 'linear',
    centre: 'mean',
    // A run that never arrives counts as the whole session: a lower bound, and the only one that is known.
    of: ({ lane, durationS }) => lane.secondsToTarget?.value ?? durationS,
  },
  {
    id: 'reached',
    column: 'reached',
    label: 'Reached the target',
    unit: '',
    better: 'higher',
    scale: 'linear',
    centre: 'mean',
    of: ({ lane }) => (lane.secondsToTarget ? 1 : 0),
  },
  {
    id: 'gain',
    column: 'amplitudeGain',
    label: 'Gain of the response',
    unit: '×',
    better: 'one',
    scale: 'linear',
    centre: 'mean',
    of: ({ lane }) => lane.amplitudeGain.value,
  },
  {
    id: 'own-noise',
    column: 'ownNoiseNv',
    label: 'Own claim of noise',
    unit: 'nV',
    better: 'lower',
    scale: 'log',
    centre: 'rms',
    of: ({ lane }) => lane.ownNoiseNv,
  },
  {
    id: 'claim-ratio',
    column: 'claimRatio',
    label: 'Own claim / true noise',
    unit: '×',
    better: 'one',
    scale: 'log',
    centre: 'mean',
    of: ({ lane }) => lane.ownNoiseNv / lane.residualNoiseNv,
  },
  {
    id: 'split-correlation',
    column: 'splitCorrelation',
    label: 'Agreement of split buffers',
    unit: 'r',
    better: 'higher',
    scale: 'linear',
    centre: 'mean',
    of: ({ lane }) => lane.splitCorrelation,
  },
  {
    id: 'used-share',
    column: 'usedShare',
    label: 'Share of sweeps used',
    unit: '',
    better: 'higher',
    scale: 'linear',
    centre: 'mean',
    of: ({ lane }) => lane.sweepsUsed / lane.sweepsOffered,
  },
  {
    id: 'effective-share',
    column: 'effectiveShare',
    label: 'Effective share of sweeps',
    unit: '',
    better: 'higher',
    scale: 'linear',
    centre: 'mean',
    of: ({ lane }) => lane.effectiveSweeps / lane.sweepsOffered,
  },
];

/** Limits beyond which a run counts as a catastrophe. Our choice: three times the target, or a fifth of the response lost. */
export const CATASTROPHE = { noiseTimesTarget: 3, gainBelow: 0.8 } as const;

/**
 * Tells whether a run misleads: no average at all, noise far above the target, or a response that has shrunk away.
 *
 * The gain of a single run is scattered by its noise, so noisy runs count as catastrophes by either rule.
 */
export function isCatastrophe(
  { lane, targetNv }: MeasuredRun,
  limits: { noiseTimesTarget: number; gainBelow: number },
) {
  if (!(lane.sweepsUsed > 0 && lane.residualNoiseNv <= limits.noiseTimesTarget * targetNv)) return true;
  return lane.amplitudeGain.value < limits.gainBelow; // NaN, a silent ear, is no catastrophe
}

/** Finds a measure. @throws {RangeError} naming the choices */
export function studyMeasure(id: string): Measure {
  const found = studyMeasures.find((measure) => measure.id === id);
  if (found) return found;
  throw new RangeError(`must be one of ${studyMeasures.map((measure) => measure.id).join(', ')}, got "${id}"`);
}
