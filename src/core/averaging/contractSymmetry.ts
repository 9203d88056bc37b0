import { sineOfCycles } from '../elementary.ts';
import { type ContractCheck, farthest, mapped, SWEEP_COUNT } from './contractClause.ts';
import { contractContext, contractPatient, type OfferedSweep, outcomeOf } from './contractPatient.ts';

const { samplesPerSweep: LENGTH } = contractContext;

/** What happens to the average when the sweeps are changed in a known way. */
export const symmetryClauses: readonly ContractCheck[] = [
  {
    id: 'scales',
    promise: 'Sweeps twice as large, with tunables in µV twice and in µV² four times as large, double every µV.',
    breach(subject) {
      const sweeps = contractPatient(SWEEP_COUNT, '7');
      const scaled = Object.entries(subject.parameters).map(([key, value]) => {
        const unit: unknown = subject.strategy.parameters.properties[key]?.unit;
        return [key, unit === 'µV' ? 2 * value : unit === 'µV²' ? 4 * value : value];
      });
      const one = outcomeOf(subject, sweeps);
      const two = outcomeOf({ ...subject, parameters: Object.fromEntries(scaled) }, mapped(sweeps, 2));
      for (const [k, name] of (['estimateUv', 'bufferAUv', 'bufferBUv'] as const).entries()) {
        const far = farthest(
          two[name],
          one[name].map((value) => 2 * value),
        );
        // A first uncertainty that is a fixed number (Kalman) shows in the sixth digit.
        if (!(far < 1e-4)) return `${['read', 'buffer A', 'buffer B'][k]} is ${far} µV away from double`;
      }
      if (!(Math.abs(two.ownNoiseUv / one.ownNoiseUv / 2 - 1) < 1e-4)) {
        return `ownNoiseUv goes from ${one.ownNoiseUv} to ${two.ownNoiseUv}`;
      }
      return two.usedCount === one.usedCount ? null : `usedCount goes from ${one.usedCount} to ${two.usedCount}`;
    },
  },
  {
    id: 'knows-no-up',
    promise: 'Upside-down sweeps give the upside-down average, the same claim and the same counts.',
    breach(subject) {
      const sweeps = contractPatient(SWEEP_COUNT, '7');
      const up = outcomeOf(subject, sweeps);
      const down = outcomeOf(subject, mapped(sweeps, -1));
      const far = farthest(
        down.estimateUv,
        up.estimateUv.map((value) => -value),
      );
      if (!(far < 1e-9)) return `the average is ${far} µV away from upside down`;
      if (!(Math.abs(down.ownNoiseUv / up.ownNoiseUv - 1) < 1e-9)) return 'ownNoiseUv differs';
      return down.usedCount === up.usedCount ? null : 'usedCount differs';
    },
  },
  {
    id: 'constant',
    promise:
      'The same sweep again and again is given back, silence and a flat line too, unless a model of drift and mains is taken off.',
    appliesTo: ({ subtracts }) => !subtracts,
    breach(subject) {
      for (const [name, value] of [
        ['a wave', (i: number) => 0.1 * sineOfCycles(i / 6.28)],
        ['silence', () => 0],
        ['a flat line', () => 0.1],
      ] as const) {
        const sweepUv = Float64Array.from({ length: LENGTH }, (_, i) => value(i));
        const { estimateUv, bufferAUv, bufferBUv, usedCount } = outcomeOf(
          subject,
          Array<OfferedSweep>(300).fill({ sweepUv }),
        );
        if (usedCount === 0) return `no sweep is used of 300 times ${name}`;
        for (const buffer of [estimateUv, bufferAUv, bufferBUv]) {
          const far = farthest(buffer, sweepUv);
          if (!(far < 1e-9)) return `300 times ${name}: the average is ${far} µV away from the sweep`;
        }
      }
      return null;
    },
  },
  {
    id: 'order-free',
    promise: 'Where it is promised, the order of the sweeps does not matter.',
    appliesTo: ({ orderFree }) => orderFree === true,
    breach(subject) {
      // Turned round in whole groups of four, so that each sweep stays in its buffer and keeps its polarity.
      const sweeps = contractPatient(SWEEP_COUNT, '7').map(({ sweepUv }) => ({ sweepUv }));
      const groups = Array.from({ length: SWEEP_COUNT / 4 }, (_, g) => sweeps.slice(4 * g, 4 * g + 4));
      const turned = groups.reverse().flat();
      const [one, two] = [outcomeOf(subject, sweeps), outcomeOf(subject, turned)];
      for (const name of ['estimateUv', 'bufferAUv', 'bufferBUv'] as const) {
        const far = farthest(one[name], two[name]);
        if (!(far < 1e-9)) return `${name} moves by ${far} µV`;
      }
      return Math.abs(one.ownNoiseUv / two.ownNoiseUv - 1) < 1e-9 ? null : 'ownNoiseUv differs';
    },
  },
];
