import { type ContractCheck, difference, farthest, SWEEP_COUNT, sentenceFault } from './contractClause.ts';
import {
  type Answers,
  contractContext,
  contractPatient,
  type OfferedSweep,
  offer,
  openSubject,
  outcomeOf,
} from './contractPatient.ts';
import { finalShares } from './finalShares.ts';
import { belongsToA, type SweepVerdict } from './strategy.ts';

const { samplesPerSweep: LENGTH } = contractContext;

/** What a strategy says of its own average is what it did. */
export const accountClauses: readonly ContractCheck[] = [
  {
    id: 'respects-flags',
    promise: 'What is in a flagged sweep does not matter, and its verdict says so.',
    breach(subject) {
      const sweeps = contractPatient(SWEEP_COUNT, '7');
      const spoiled = sweeps.map((sweep) =>
        sweep.overRange ? { ...sweep, sweepUv: new Float64Array(LENGTH).fill(1e6) } : sweep,
      );
      const { verdicts, ...answers } = outcomeOf(subject, spoiled);
      const seen = difference(answers, outcomeOf(subject, sweeps));
      if (seen) return `${seen} with other numbers in the flagged sweeps`;
      const flagged = verdicts.filter(({ index }) => sweeps[index].overRange);
      if (flagged.length !== sweeps.filter(({ overRange }) => overRange).length)
        return 'a flagged sweep has no verdict';
      const wrong = flagged.find(({ reason, weight }) => reason !== 'flagged' || weight !== 0);
      return wrong
        ? `the verdict on flagged sweep ${wrong.index} is ${wrong.reason} with weight ${wrong.weight}`
        : null;
    },
  },
  {
    id: 'one-verdict-each',
    promise:
      'Each sweep gets one verdict: at once (online), within the longest wait (delayed), or when settled (hindsight).',
    breach(subject) {
      const { timing, longestWait } = subject.strategy;
      const sweeps = contractPatient(SWEEP_COUNT, '7');
      const { averager, verdicts } = openSubject(subject);
      const longest = longestWait?.(subject.parameters) ?? subject.parameters.blockLength ?? 0;
      const mayWait = timing === 'online' ? 0 : timing === 'delayed' ? longest : SWEEP_COUNT;
      const waiting = new Set<number>();
      let seen = 0;
      for (let k = 0; k < SWEEP_COUNT; k++) {
        waiting.add(k);
        offer(subject, averager, [sweeps[k]], k);
        for (; seen < verdicts.length; seen++) {
          if (!waiting.delete(verdicts[seen].index))
            return `a second verdict, or one too early, on sweep ${verdicts[seen].index}`;
        }
        if (waiting.size > mayWait) return `${waiting.size} sweeps wait at sweep ${k}, at most ${mayWait} may`;
      }
      if (timing !== 'hindsight') return null;
      if (verdicts.length > 0) return 'a hindsight strategy tells verdicts before it is settled';
      if (!averager.settle) return 'a hindsight strategy has no settle()';
      averager.settle();
      return verdicts.length === SWEEP_COUNT ? null : `${verdicts.length} verdicts on ${SWEEP_COUNT} sweeps`;
    },
  },
  {
    id: 'weights-tell-all',
    promise:
      'The average and both buffers are Σ share · sweep, and the counts follow from the shares (unless shares are approximate).',
    breach(subject) {
      const sweeps = contractPatient(SWEEP_COUNT, '7');
      for (const count of [64, 65, 200, 400]) {
        const outcome = outcomeOf(subject, sweeps.slice(0, count));
        const wrong = outcome.verdicts.find(
          ({ weight, fade }) => !(weight >= 0 && weight < Infinity && fade > 0 && fade <= 1),
        );
        if (wrong) return `the verdict on sweep ${wrong.index} has weight ${wrong.weight} and fade ${wrong.fade}`;
        const seen = subject.strategy.approximateShares ? null : shareMismatch(sweeps.slice(0, count), outcome);
        if (seen) return `${seen} after ${count} sweeps`;
      }
      return null;
    },
  },
  {
    id: 'two-buffers',
    promise: 'Alternate pairs of sweeps go to buffers A and B: what is only in the sweeps of A is not seen in B.',
    appliesTo: ({ subtracts }) => !subtracts,
    breach(subject) {
      const marked = contractPatient(256, '9', 1).map(({ sweepUv }, k) => ({
        sweepUv: sweepUv.map((value, i) => value + (belongsToA(k) && i >= 16 ? 3 : 0)),
      }));
      const { bufferAUv, bufferBUv } = outcomeOf(subject, marked);
      const a = meanOf(bufferAUv.subarray(16));
      const b = meanOf(bufferBUv.subarray(16));
      return a > 2.3 && Math.abs(b) < 0.6 ? null : `a mark of 3 µV in the sweeps of A is ${a} µV in A and ${b} µV in B`;
    },
  },
  {
    id: 'counts-in-order',
    promise: 'Effective count ≤ used count ≤ sweeps offered, after every sweep.',
    breach(subject) {
      const sweeps = contractPatient(SWEEP_COUNT, '7');
      const { averager } = openSubject(subject);
      for (let k = 0; k < SWEEP_COUNT; k++) {
        offer(subject, averager, [sweeps[k]], k);
        if (subject.strategy.timing === 'hindsight' && k % 20 > 0 && k > 8) continue;
        const used = averager.usedCount();
        const effective = averager.effectiveCount();
        const inOrder = effective >= 0 && effective <= used * (1 + 1e-9) && used <= k + 1;
        if (!inOrder) return `effective ${effective}, used ${used}, offered ${k + 1}`;
      }
      return null;
    },
  },
  {
    id: 'explains-itself',
    promise: 'Every verdict is explained in one plain sentence.',
    breach(subject) {
      const flat = Array.from({ length: 256 }, () => ({ sweepUv: new Float64Array(LENGTH) }));
      const flagged = contractPatient(64, '9').map(({ sweepUv }) => ({ sweepUv, overRange: true }));
      const verdicts = [
        ...outcomeOf(subject, [...contractPatient(SWEEP_COUNT, '7'), ...flagged]).verdicts,
        ...outcomeOf(subject, flat).verdicts,
      ];
      for (const verdict of verdicts) {
        const seen = sentenceFault(subject, verdict);
        if (seen) return seen;
      }
      return null;
    },
  },
];

function shareMismatch(
  sweeps: readonly OfferedSweep[],
  outcome: Answers & { verdicts: SweepVerdict[] },
): string | null {
  const shares = finalShares(outcome.verdicts, sweeps.length);
  const sums = [0, 1, 2].map(() => new Float64Array(LENGTH));
  const shareSums = [0, 0, 0];
  for (const [k, { sweepUv }] of sweeps.entries()) {
    for (const buffer of [0, belongsToA(k) ? 1 : 2]) {
      shareSums[buffer] += shares[k];
      for (let i = 0; i < LENGTH; i++) sums[buffer][i] += shares[k] * sweepUv[i];
    }
  }
  const buffers = [outcome.estimateUv, outcome.bufferAUv, outcome.bufferBUv];
  for (const [buffer, read] of buffers.entries()) {
    const far = farthest(
      read,
      sums[buffer].map((value) => value / shareSums[buffer]),
    );
    if (shareSums[buffer] > 0 && !(far < 1e-8))
      return `${['read', 'buffer A', 'buffer B'][buffer]} is ${far} µV off its shares`;
  }
  const used = shares.filter((share) => share > 0).length;
  if (used !== outcome.usedCount) return `usedCount is ${outcome.usedCount}, ${used} sweeps have a share`;
  const squares = shares.reduce((sum, share) => sum + share * share, 0);
  const effective = squares > 0 ? 1 / squares : 0;
  const near = Math.abs(outcome.effectiveCount - effective) <= 1e-8 * (1 + effective);
  return near ? null : `effectiveCount is ${outcome.effectiveCount}, the shares give ${effective}`;
}

function meanOf(values: Float64Array): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
