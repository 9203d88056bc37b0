import { type ContractCheck, difference, notFinite, SWEEP_COUNT } from './contractClause.ts';
import { answersOf, contractContext, contractPatient, offer, openSubject, outcomeOf } from './contractPatient.ts';

const { samplesPerSweep: LENGTH } = contractContext;

/** What a strategy answers rests on the sweeps it was given, and on nothing else. */
export const repetitionClauses: readonly ContractCheck[] = [
  {
    id: 'nothing-at-first',
    promise: 'Before the first sweep the averages and the claim are NaN and both counts 0.',
    breach(subject) {
      const { estimateUv, bufferAUv, bufferBUv, ownNoiseUv, usedCount, effectiveCount } = answersOf(
        openSubject(subject).averager,
      );
      for (const [name, buffer] of Object.entries({ read: estimateUv, 'buffer A': bufferAUv, 'buffer B': bufferBUv })) {
        const known = buffer.find((value) => !Number.isNaN(value));
        if (known !== undefined) return `${name} gives ${known} before the first sweep`;
      }
      if (!Number.isNaN(ownNoiseUv)) return `ownNoiseUv gives ${ownNoiseUv} before the first sweep`;
      return usedCount === 0 && effectiveCount === 0 ? null : `counts are ${usedCount} and ${effectiveCount}`;
    },
  },
  {
    id: 'learns',
    promise: 'After 400 sweeps averages and claim are finite, the claim is above 0, and some sweeps are used.',
    breach(subject) {
      const known = outcomeOf(subject, contractPatient(SWEEP_COUNT, '7'));
      return notFinite(known) ?? (known.usedCount > 0 ? null : 'usedCount is 0 after 400 sweeps');
    },
  },
  {
    id: 'deterministic',
    promise: 'The same sweeps give the same answers, bit for bit.',
    breach(subject) {
      const again = () => outcomeOf(subject, contractPatient(SWEEP_COUNT, '7'));
      return difference(again(), again());
    },
  },
  {
    id: 'leaves-sweep-alone',
    promise: 'The sweep is neither changed nor kept by reference.',
    breach(subject) {
      const sweeps = contractPatient(SWEEP_COUNT, '7');
      const { averager } = openSubject(subject);
      const shared = new Float64Array(LENGTH);
      for (const [k, { sweepUv, overRange }] of sweeps.entries()) {
        shared.set(sweepUv);
        offer(subject, averager, [{ sweepUv: shared, overRange }], k);
        if (shared.some((value, i) => value !== sweepUv[i])) return `add changes sweep ${k}`;
        shared.fill(NaN);
      }
      return difference(answersOf(averager), outcomeOf(subject, sweeps));
    },
  },
  {
    id: 'causal',
    promise: 'Later sweeps, or sweeps in another averager, change nothing that is answered now.',
    breach(subject) {
      const sweeps = contractPatient(SWEEP_COUNT, '7');
      const others = [...sweeps.slice(0, 200), ...contractPatient(200, '8')];
      const [one, two] = [openSubject(subject), openSubject(subject)];
      for (let k = 0; k < SWEEP_COUNT; k++) {
        offer(subject, one.averager, [sweeps[k]], k);
        offer(subject, two.averager, [others[k]], k);
        const ask = k < 200 && (k < 8 || k % 16 === 15);
        const seen = ask ? difference(answersOf(one.averager), answersOf(two.averager)) : null;
        if (seen) return `${seen} at sweep ${k}, before the sweeps differ`;
      }
      const asked = difference(answersOf(one.averager), outcomeOf(subject, sweeps));
      return asked && `${asked}, only because it was asked in between`;
    },
  },
];
