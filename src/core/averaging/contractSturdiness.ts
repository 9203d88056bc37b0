import { sineOfCycles } from '../elementary.ts';
import { type ContractCheck, farthest, notFinite, SWEEP_COUNT, sentenceFault } from './contractClause.ts';
import { contractContext, contractPatient, offer, openSubject, outcomeOf } from './contractPatient.ts';

const MEMORY_ROUNDS = 10; // of SWEEP_COUNT sweeps: 2 MB
const HELD_SHARE = 0.25; // our choice: compiled code and the like come and go
const { samplesPerSweep: LENGTH } = contractContext;

/** Strange sweeps and long sessions do no harm. */
export const sturdinessClauses: readonly ContractCheck[] = [
  {
    id: 'survives-strange-sweeps',
    promise: 'Silence, a flat line, a huge, a tiny or a single sweep leave no NaN and no ±Infinity behind.',
    breach(subject) {
      const sweeps = contractPatient(SWEEP_COUNT, '7');
      for (const [name, level] of [
        ['silence', 0],
        ['a flat line', 50],
        ['a huge sweep', 1e9],
        ['a tiny sweep', 1e-9],
      ] as const) {
        const sweepUv = Float64Array.from(
          { length: LENGTH },
          (_, i) => level * (1 + (level > 100 ? sineOfCycles(i / 6.28) : 0)),
        );
        const alone = outcomeOf(subject, [{ sweepUv }]).estimateUv;
        if (!alone.every(Number.isNaN) && !alone.every(Number.isFinite))
          return `${name} alone leaves a mixture of NaN and numbers`;
        for (const at of [0, 100]) {
          const seen = notFinite(outcomeOf(subject, [...sweeps.slice(0, at), { sweepUv }, ...sweeps.slice(at)]));
          if (seen) return `${seen} after ${name} at sweep ${at}`;
        }
      }
      const flat = Array.from({ length: 100 }, () => ({ sweepUv: new Float64Array(LENGTH) }));
      const { estimateUv } = outcomeOf(subject, [...flat, ...sweeps]);
      return estimateUv.every(Number.isFinite) ? null : 'the average is not finite after 100 silent sweeps';
    },
  },
  {
    id: 'leaves-out-no-voltage',
    promise:
      'A sweep with NaN, ±Infinity or 1e200 µV in it gets the weight 0 and a sentence, and leaves nothing behind.',
    breach(subject) {
      const sweeps = contractPatient(300, '7').map(({ sweepUv }) => ({ sweepUv }));
      for (const value of [NaN, Infinity, 1e200]) {
        for (const at of [0, 150]) {
          const spoilt = sweeps[at].sweepUv.slice();
          spoilt[30] = value;
          const replaced = (sweepUv: Float64Array, overRange: boolean) =>
            outcomeOf(
              subject,
              sweeps.map((sweep, k) => (k === at ? { sweepUv, overRange } : sweep)),
            );
          const seen = replaced(spoilt, false);
          const wrong = notFinite(seen);
          if (wrong) return `${wrong} after ${value} in sweep ${at}`;
          const without = replaced(sweeps[at].sweepUv, true);
          const far = farthest(seen.estimateUv, without.estimateUv);
          if (!(far < 1e-3)) return `${value} in sweep ${at} moves the average by ${far} µV against leaving it out`;
          if (seen.usedCount !== without.usedCount) return `sweep ${at} is used though it holds ${value}`;
          const verdict = seen.verdicts.find(({ index }) => index === at);
          if (verdict?.weight !== 0) return `${value} in sweep ${at} gets the weight ${verdict?.weight}`;
          const fault = sentenceFault(subject, verdict);
          if (fault) return fault;
        }
      }
      return null;
    },
  },
  {
    id: 'bounded-memory',
    promise: 'An online strategy keeps no sweeps: where its memory can be asked, 4000 more leave it as it was.',
    appliesTo: ({ timing }) => timing === 'online',
    breach(subject) {
      const sweeps = contractPatient(SWEEP_COUNT, '7');
      const { averager } = openSubject(subject);
      if (!averager.heldBytes) return null;
      const heldBytes: number[] = [];
      for (let round = 0; round < MEMORY_ROUNDS + 3; round++) {
        offer(subject, averager, sweeps, SWEEP_COUNT * round);
        heldBytes.push(averager.heldBytes());
      }
      averager.release?.();
      // Leavings of other calls may be counted once or twice, so the least of three is what is kept.
      const moreBytes = Math.min(...heldBytes.slice(-3)) - Math.min(...heldBytes.slice(0, 3));
      const sweepBytes = MEMORY_ROUNDS * SWEEP_COUNT * LENGTH * 8;
      if (moreBytes < HELD_SHARE * sweepBytes) return null;
      return `${(moreBytes / 1e6).toFixed(1)} MB more after sweeps of ${(sweepBytes / 1e6).toFixed(1)} MB`;
    },
  },
];
