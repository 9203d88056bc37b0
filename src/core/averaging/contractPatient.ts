import { sineOfCycles } from '../elementary.ts';
import { fillGaussian, nextUniform, stream } from '../random/stream.ts';
import type { Averager, AveragingContext, AveragingStrategy, SweepMeta, SweepVerdict } from './strategy.ts';

/** A small recording for trying out strategies: 64 samples a sweep at 16 kHz, 16 of them before the stimulus. */
export const contractContext: AveragingContext = {
  samplesPerSweep: 64,
  sampleRateHz: 16000,
  preSampleCount: 16,
  analysisFrom: 20,
  analysisTo: 60,
  respectFlags: true,
};

/** A sweep as it is offered to a strategy. */
export interface OfferedSweep {
  sweepUv: Float64Array;
  overRange?: boolean;
}

/** A strategy with the tunables that are tried. */
export interface ContractSubject {
  // biome-ignore lint/suspicious/noExplicitAny: each strategy has its own parameters
  strategy: AveragingStrategy<any>;
  parameters: Record<string, number>;
}

/** Everything that can be asked of an averager. */
export interface Answers {
  estimateUv: Float64Array;
  bufferAUv: Float64Array;
  bufferBUv: Float64Array;
  ownNoiseUv: number;
  usedCount: number;
  effectiveCount: number;
}

const BETWEEN = 32; // samples between two sweeps that a strategy may hear

/**
 * A response of 0.4 µV in white noise of 3 µV whose size changes from sweep to sweep; every tenth sweep may be far
 * larger, every thirteenth is flagged.
 */
export function contractPatient(count: number, seed: string, noiseUv = 3): OfferedSweep[] {
  const { samplesPerSweep } = contractContext;
  const draws = stream(seed, 'contract/patient');
  return Array.from({ length: count }, (_, k) => {
    const sweepUv = new Float64Array(samplesPerSweep);
    fillGaussian(draws, sweepUv, samplesPerSweep);
    const size = noiseUv * (k % 10 === 9 ? 20 * nextUniform(draws) : 0.5 + nextUniform(draws));
    for (let i = 0; i < samplesPerSweep; i++) sweepUv[i] = size * sweepUv[i] + 0.4 * sineOfCycles(i / 32);
    return { sweepUv, overRange: k % 13 === 12 };
  });
}

/** Opens an averager that writes down its verdicts. */
export function openSubject({ strategy, parameters }: ContractSubject, changes: Partial<AveragingContext> = {}) {
  const verdicts: SweepVerdict[] = [];
  const averager = strategy.create({ ...contractContext, ...changes }, parameters, (verdict) => {
    verdicts.push({ ...verdict });
  });
  return { averager, verdicts };
}

/** Offers sweeps in turn, numbered from `from` on, with alternating polarity and, where wanted, what lies between them. */
export function offer(subject: ContractSubject, averager: Averager, sweeps: readonly OfferedSweep[], from = 0): void {
  const { samplesPerSweep } = contractContext;
  const samplesUv = new Float64Array(BETWEEN + samplesPerSweep);
  for (const [k, { sweepUv, overRange = false }] of sweeps.entries()) {
    const index = from + k;
    const meta: SweepMeta = { index, timeS: (index + 1) / 30, polarity: index % 2 === 0 ? 1 : -1, overRange };
    if (subject.strategy.usesInterval) {
      // The stretch between is a piece of the sweep itself, turned round: as loud as it, and of the same numbers.
      for (let i = 0; i < BETWEEN; i++) samplesUv[i] = sweepUv[BETWEEN - 1 - i];
      samplesUv.set(sweepUv, BETWEEN);
      meta.interval = { samplesUv, firstSample: index * (BETWEEN + samplesPerSweep) };
    }
    averager.add(sweepUv, meta);
  }
}

/** Asks everything. */
export function answersOf(averager: Averager): Answers {
  const { samplesPerSweep } = contractContext;
  const [estimateUv, bufferAUv, bufferBUv] = [0, 1, 2].map(() => new Float64Array(samplesPerSweep));
  averager.read(estimateUv);
  averager.readPair(bufferAUv, bufferBUv);
  return {
    estimateUv,
    bufferAUv,
    bufferBUv,
    ownNoiseUv: averager.ownNoiseUv(),
    usedCount: averager.usedCount(),
    effectiveCount: averager.effectiveCount(),
  };
}

/** Runs the sweeps past a fresh averager and asks everything. */
export function outcomeOf(
  subject: ContractSubject,
  sweeps: readonly OfferedSweep[],
  changes: Partial<AveragingContext> = {},
) {
  const { averager, verdicts } = openSubject(subject, changes);
  offer(subject, averager, sweeps);
  averager.settle?.();
  const answers = answersOf(averager);
  averager.release?.();
  return { ...answers, verdicts };
}
