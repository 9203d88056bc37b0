import { sineOfCycles } from '../elementary.ts';
import {
  type Answers,
  answersOf,
  type ContractSubject,
  contractContext,
  contractPatient,
  type OfferedSweep,
  offer,
  openSubject,
  outcomeOf,
} from './contractPatient.ts';
import { finalShares } from './finalShares.ts';
import { belongsToA, type SweepVerdict, type WeightReason } from './strategy.ts';

/** One clause of the contract that every strategy keeps, the lab's own and anybody else's. */
export interface ContractCheck {
  id: string;
  /** What is promised, as a sentence. */
  promise: string;
  /** Tries it. Returns null if it is kept, else what was seen. What the strategy throws is passed on. */
  breach(subject: ContractSubject): string | null;
}

const SWEEP_COUNT = 400;
const MEMORY_ROUNDS = 10; // of SWEEP_COUNT sweeps: 2 MB
const HELD_SHARE = 0.25; // our choice: compiled code and the like come and go
const { samplesPerSweep: LENGTH } = contractContext;
const REASONS: readonly WeightReason[] = ['taken', 'down-weighted', 'rejected', 'flagged', 'waiting'];

/** Every clause, the simplest first. */
export const contractChecks: readonly ContractCheck[] = [
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
          const allowed = subject.strategy.subtracts ? Infinity : 1e-9;
          if (!(far < allowed)) return `300 times ${name}: the average is ${far} µV away from the sweep`;
        }
      }
      return null;
    },
  },
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
    breach(subject) {
      if (subject.strategy.subtracts) return null;
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
    id: 'order-free',
    promise: 'Where it is promised, the order of the sweeps does not matter.',
    breach(subject) {
      if (!subject.strategy.orderFree) return null;
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
    breach(subject) {
      if (subject.strategy.timing !== 'online') return null;
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

function sentenceFault({ strategy }: ContractSubject, verdict: SweepVerdict): string | null {
  if (!REASONS.includes(verdict.reason))
    return `the verdict on sweep ${verdict.index} has the reason "${verdict.reason}"`;
  const sentence: unknown = strategy.explain(verdict);
  const plain = typeof sentence === 'string' && /^[A-Z][^\n]*\.$/.test(sentence);
  const readable = plain && !/NaN|undefined|Infinity|null/.test(sentence);
  return readable ? null : `explain says "${sentence}" of sweep ${verdict.index} (${verdict.reason})`;
}

function notFinite({ estimateUv, bufferAUv, bufferBUv, ownNoiseUv, effectiveCount }: Answers): string | null {
  for (const [name, buffer] of Object.entries({ read: estimateUv, 'buffer A': bufferAUv, 'buffer B': bufferBUv })) {
    const wrong = buffer.find((value) => !Number.isFinite(value));
    if (wrong !== undefined) return `${name} gives ${wrong}`;
  }
  if (!(ownNoiseUv > 0 && ownNoiseUv < Infinity)) return `ownNoiseUv gives ${ownNoiseUv}`;
  return effectiveCount > 0 ? null : `effectiveCount gives ${effectiveCount}`;
}

/** What differs between two sets of answers, to the bit; null if nothing does. */
function difference(one: Answers, two: Answers): string | null {
  for (const name of ['estimateUv', 'bufferAUv', 'bufferBUv'] as const) {
    const i = one[name].findIndex((value, k) => !Object.is(value, two[name][k]));
    if (i >= 0) return `${name} differs at sample ${i}: ${one[name][i]} and ${two[name][i]}`;
  }
  for (const name of ['ownNoiseUv', 'usedCount', 'effectiveCount'] as const) {
    if (!Object.is(one[name], two[name])) return `${name} differs: ${one[name]} and ${two[name]}`;
  }
  return null;
}

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

function mapped(sweeps: readonly OfferedSweep[], factor: number): OfferedSweep[] {
  return sweeps.map(({ sweepUv, overRange }) => ({ sweepUv: sweepUv.map((value) => factor * value), overRange }));
}

/** Largest distance between two buffers; NaN if one of them has a NaN. */
function farthest(one: Float64Array, two: Float64Array): number {
  let largest = 0;
  for (let i = 0; i < one.length; i++) {
    const distance = Math.abs(one[i] - two[i]);
    if (!(distance <= largest)) largest = distance;
  }
  return largest;
}

function meanOf(values: Float64Array): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
