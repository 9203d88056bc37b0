import type { Answers, ContractSubject, OfferedSweep } from './contractPatient.ts';
import type { AveragingStrategy, SweepVerdict, WeightReason } from './strategy.ts';

/** One clause of the contract that every strategy keeps, the lab's own and anybody else's. */
export interface ContractCheck {
  id: string;
  /** What is promised, as a sentence. */
  promise: string;
  /** Whether a strategy that declares what it does promises this at all; left out, every one does. */
  appliesTo?(strategy: AveragingStrategy<never>): boolean;
  /** Tries it. Returns null if it is kept, else what was seen. What the strategy throws is passed on. */
  breach(subject: ContractSubject): string | null;
}

/** Sweeps of the usual try. */
export const SWEEP_COUNT = 400;
const REASONS: readonly WeightReason[] = ['taken', 'down-weighted', 'rejected', 'flagged', 'waiting'];

/** What is wrong with the sentence for a verdict; null if nothing is. */
export function sentenceFault({ strategy }: ContractSubject, verdict: SweepVerdict): string | null {
  if (!REASONS.includes(verdict.reason))
    return `the verdict on sweep ${verdict.index} has the reason "${verdict.reason}"`;
  const sentence: unknown = strategy.explain(verdict);
  const plain = typeof sentence === 'string' && /^[A-Z][^\n]*\.$/.test(sentence);
  const readable = plain && !/NaN|undefined|Infinity|null/.test(sentence);
  return readable ? null : `explain says "${sentence}" of sweep ${verdict.index} (${verdict.reason})`;
}

/** What is not a finite number, or no claim at all, among the answers; null if nothing is. */
export function notFinite({ estimateUv, bufferAUv, bufferBUv, ownNoiseUv, effectiveCount }: Answers): string | null {
  for (const [name, buffer] of Object.entries({ read: estimateUv, 'buffer A': bufferAUv, 'buffer B': bufferBUv })) {
    const wrong = buffer.find((value) => !Number.isFinite(value));
    if (wrong !== undefined) return `${name} gives ${wrong}`;
  }
  if (!(ownNoiseUv > 0 && ownNoiseUv < Infinity)) return `ownNoiseUv gives ${ownNoiseUv}`;
  return effectiveCount > 0 ? null : `effectiveCount gives ${effectiveCount}`;
}

/** What differs between two sets of answers, to the bit; null if nothing does. */
export function difference(one: Answers, two: Answers): string | null {
  for (const name of ['estimateUv', 'bufferAUv', 'bufferBUv'] as const) {
    const i = one[name].findIndex((value, k) => !Object.is(value, two[name][k]));
    if (i >= 0) return `${name} differs at sample ${i}: ${one[name][i]} and ${two[name][i]}`;
  }
  for (const name of ['ownNoiseUv', 'usedCount', 'effectiveCount'] as const) {
    if (!Object.is(one[name], two[name])) return `${name} differs: ${one[name]} and ${two[name]}`;
  }
  return null;
}

/** The sweeps, each times a factor. */
export function mapped(sweeps: readonly OfferedSweep[], factor: number): OfferedSweep[] {
  return sweeps.map(({ sweepUv, overRange }) => ({ sweepUv: sweepUv.map((value) => factor * value), overRange }));
}

/** Largest distance between two buffers; NaN if one of them has a NaN. */
export function farthest(one: Float64Array, two: Float64Array): number {
  let largest = 0;
  for (let i = 0; i < one.length; i++) {
    const distance = Math.abs(one[i] - two[i]);
    if (!(distance <= largest)) largest = distance;
  }
  return largest;
}
