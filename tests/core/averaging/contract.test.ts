import v8 from 'node:v8';
import vm from 'node:vm';
import { describe, expect, it } from 'vitest';
import { clausesOf, contractChecks } from '../../../src/core/averaging/contract.ts';
import {
  contractContext,
  contractPatient,
  type OfferedSweep,
  offer,
  openSubject,
  outcomeOf,
} from '../../../src/core/averaging/contractPatient.ts';
import { finiteOnly } from '../../../src/core/averaging/finiteOnly.ts';
import { forgettingAverage } from '../../../src/core/averaging/forgettingAverage.ts';
import { averagingStrategies } from '../../../src/core/averaging/index.ts';
import { plainMean } from '../../../src/core/averaging/plainMean.ts';
import type { Averager, AveragingStrategy, VerdictListener } from '../../../src/core/averaging/strategy.ts';
import { fillGaussian, stream } from '../../../src/core/random/stream.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { laneOf } from '../../../src/core/session/lanes.ts';
import { mean, standardError } from '../sampleStatistics.ts';

const scenario = resolveScenario({});
const subjects = averagingStrategies.map((strategy) => ({
  strategy,
  parameters: laneOf(scenario, strategy.id).parameters,
}));
const { samplesPerSweep: LENGTH } = contractContext;

v8.setFlagsFromString('--expose-gc');
const collect = vm.runInNewContext('gc') as () => void;

/** Bytes that stay when what nobody holds is cleared away: objects, plain arrays and sample buffers. */
function heldBytes(): number {
  collect();
  collect(); // what the first found to be free of finalisers only now goes
  const { heapUsed, arrayBuffers } = process.memoryUsage();
  return heapUsed + arrayBuffers;
}

it('counts what is held as plain numbers too', () => {
  const sweeps = contractPatient(400, '7');
  const before = heldBytes();
  const kept: number[][] = [];
  for (let round = 0; round < 50; round++) for (const { sweepUv } of sweeps) kept.push(Array.from(sweepUv));
  expect(heldBytes() - before).toBeGreaterThan(8e6);
  expect(kept).toHaveLength(20_000);
});

describe.each(subjects.map((subject) => [subject.strategy.id, subject] as const))('%s', (id, subject) => {
  const { timing } = subject.strategy;

  it.each(clausesOf(subject.strategy))('$id: $promise', ({ breach }) => {
    expect(breach(subject)).toBeNull();
  });

  it('takes flagged sweeps like any other where flags are not respected', () => {
    const sweeps = contractPatient(400, '7');
    const { estimateUv, verdicts } = outcomeOf(subject, sweeps, { respectFlags: false });
    expect(verdicts.some(({ reason }) => reason === 'flagged')).toBe(false);
    const none = sweeps.map(({ sweepUv }) => ({ sweepUv }));
    expect(estimateUv).toEqual(outcomeOf(subject, none).estimateUv);
    expect(estimateUv).not.toEqual(outcomeOf(subject, sweeps).estimateUv);
  });

  if (timing !== 'hindsight') {
    it('keeps nothing per sweep: 20 000 sweeps later it holds as much as after 400', () => {
      const sweeps = contractPatient(400, '7');
      const averager = subject.strategy.create(contractContext, subject.parameters, () => {});
      offer(subject, averager, sweeps);
      const before = heldBytes();
      for (let round = 1; round <= 50; round++) offer(subject, averager, sweeps, 400 * round);
      expect(heldBytes() - before).toBeLessThan(4e6); // the sweeps alone would be 10 MB
      expect(averager.usedCount()).toBeGreaterThan(0); // and it was not cleared away itself
    });
  }

  // White noise of 2 µV in every sample, 30 runs of 320 sweeps: what a mean of all leaves is 2/√320 = 0.112 µV.
  it(`claims the noise that it leaves in white noise${WHITE[id] ? `: ${WHITE[id].why}` : ''}`, () => {
    const { power = 1, claim = 1, tolerance = 0.12 } = WHITE[id] ?? {};
    const powers: number[] = [];
    const claims: number[] = [];
    for (let run = 0; run < 30; run++) {
      const draws = stream(String(run), 'test/white');
      const white = Array.from({ length: 320 }, () => {
        const sweepUv = new Float64Array(LENGTH);
        fillGaussian(draws, sweepUv, LENGTH);
        return { sweepUv: sweepUv.map((value) => 2 * value) };
      });
      const { estimateUv, ownNoiseUv } = outcomeOf(subject, white);
      powers.push((mean(estimateUv.subarray(20, 60).map((uv) => uv * uv)) * 320) / 4);
      claims.push(ownNoiseUv);
    }
    expect(Math.abs(mean(powers) - power)).toBeLessThan(4 * standardError(powers) + 0.05);
    const left = Math.sqrt((mean(powers) * 4) / 320);
    expect(Math.abs(mean(claims) / left / claim - 1)).toBeLessThan(tolerance);
  });
});

/** Where the noise left (as power, in units of a mean of all) or the claim (over what is left) is not 1. */
const WHITE: Record<string, { power?: number; claim?: number; tolerance?: number; why: string }> = {
  'median-average': { power: Math.PI / 2, why: 'the median needs π/2 times the sweeps' },
  'state-space': {
    power: 1.2,
    tolerance: 0.2,
    why: 'it hears 6 ms a sweep, too little to tell seven harmonics from what it carries',
  },
};

describe('the contract', () => {
  it('has 18 clauses, and each strategy answers to all that it does not declare away', () => {
    expect(contractChecks).toHaveLength(18);
    const ids = (chosen: readonly { id: string }[]) => chosen.map(({ id }) => id);
    for (const { strategy } of subjects) {
      const away = ids(contractChecks).filter((id) => !ids(clausesOf(strategy)).includes(id));
      expect(away, strategy.id).toEqual([
        ...(strategy.subtracts ? ['constant'] : []), // what it takes for drift or hum it does not give back
        ...(strategy.orderFree ? [] : ['order-free']),
        ...(strategy.subtracts ? ['two-buffers'] : []),
        ...(strategy.timing === 'online' ? [] : ['bounded-memory']), // hindsight keeps all, a block its own sweeps
      ]);
    }
  });

  it('has a clause against every broken strategy below', () => {
    expect(contractChecks.map(({ id }) => id)).toEqual([...new Set(contractChecks.map(({ id }) => id))]);
    const caught = broken.map(({ what, base = plainMean, parameters = {}, bare, declares, hears, change }) => {
      const strategy: AveragingStrategy<object> = {
        ...(base as AveragingStrategy<object>),
        ...declares,
        create(context, tunables, listener) {
          const averager = (base as AveragingStrategy<object>).create(context, tunables, hears?.(listener) ?? listener);
          return { ...averager, ...change?.(averager) };
        },
      };
      const subject = { strategy: bare ? strategy : finiteOnly(strategy), parameters };
      const found = clausesOf(strategy).find(({ breach }) => breach(subject) !== null);
      return [what, found?.id ?? 'nothing'];
    });
    expect(caught).toEqual(broken.map(({ what, clause }) => [what, clause]));
    const tripped = [...new Set([...broken.map(({ clause }) => clause), 'causal'])]; // which has a test of its own below
    expect(tripped.sort()).toEqual(contractChecks.map(({ id }) => id).sort());
  });

  interface Broken {
    what: string;
    clause: string;
    base?: AveragingStrategy<never>;
    parameters?: Record<string, number>;
    /** Without the guard against what is no voltage. */
    bare?: true;
    declares?: Partial<AveragingStrategy<object>>;
    hears?(listener: VerdictListener): VerdictListener;
    change?(inner: Averager): Partial<Averager>;
  }

  const broken: Broken[] = [
    {
      what: 'zero instead of NaN before the first sweep',
      clause: 'nothing-at-first',
      change: (inner) => ({ read: (out) => (inner.usedCount() > 0 ? inner.read(out) : void out.fill(0)) }),
    },
    { what: 'never a claim', clause: 'learns', change: () => ({ ownNoiseUv: () => NaN }) },
    {
      what: 'changes the sweep',
      clause: 'leaves-sweep-alone',
      change: (inner) => ({
        add(sweepUv, meta) {
          const changed = sweepUv.map((value) => 0.5 * value);
          inner.add(changed, meta);
          sweepUv.set(changed);
        },
      }),
    },
    {
      what: 'a state shared between averagers',
      clause: 'deterministic',
      change: (inner) => ({
        add(sweepUv, meta) {
          shared += 1e-3;
          inner.add(
            sweepUv.map((value) => value + shared),
            meta,
          );
        },
      }),
    },
    {
      what: 'an offset of its own',
      clause: 'scales',
      change: (inner) => ({
        add: (sweepUv, meta) =>
          inner.add(
            sweepUv.map((value) => value + 0.1),
            meta,
          ),
      }),
    },
    {
      what: 'rectifies',
      clause: 'knows-no-up',
      change: (inner) => ({ add: (sweepUv, meta) => inner.add(sweepUv.map(Math.abs), meta) }),
    },
    {
      what: 'shrinks by a tenth',
      clause: 'constant',
      change: (inner) => ({
        read(out) {
          inner.read(out);
          for (let i = 0; i < out.length; i++) out[i] *= 0.9;
        },
      }),
    },
    {
      what: 'ignores the flag',
      clause: 'respects-flags',
      change: (inner) => ({ add: (sweepUv, meta) => inner.add(sweepUv, { ...meta, overRange: false }) }),
    },
    {
      what: 'buffers by odd and even',
      clause: 'weights-tell-all',
      change: (inner) => ({
        readPair(a, b) {
          inner.readPair(b, a);
        },
      }),
    },
    {
      what: 'is online and keeps its sweeps, where its memory can be asked',
      clause: 'bounded-memory',
      change(inner) {
        const kept: Float64Array[] = [];
        return {
          add(sweepUv, meta) {
            kept.push(sweepUv.slice());
            inner.add(sweepUv, meta);
          },
          heldBytes: () => 1e6 + kept.reduce((sum, { byteLength }) => sum + byteLength, 0),
        };
      },
    },
    {
      what: 'is a NaN after a huge sweep',
      clause: 'survives-strange-sweeps',
      change: (inner) => ({
        add: (sweepUv, meta) =>
          inner.add(sweepUv.some((value) => Math.abs(value) > 1e8) ? sweepUv.map(() => NaN) : sweepUv, meta),
      }),
    },
    {
      what: 'weighs by size and gives silence no weight',
      clause: 'constant',
      change: (inner) => ({
        add: (sweepUv, meta) => {
          if (sweepUv.some((value) => value !== 0)) inner.add(sweepUv, meta);
        },
      }),
    },
    {
      what: 'lets a NaN in',
      clause: 'leaves-out-no-voltage',
      bare: true,
    },
    {
      what: 'gives each buffer half of the other',
      clause: 'two-buffers',
      declares: { approximateShares: true },
      change: (inner) => ({
        readPair(a, b) {
          inner.readPair(a, b);
          for (let i = 0; i < a.length; i++) [a[i], b[i]] = [0.5 * (a[i] + b[i]), 0.5 * (a[i] + b[i])];
        },
      }),
    },
    {
      what: 'claims to use more sweeps than it was offered',
      clause: 'counts-in-order',
      declares: { approximateShares: true },
      change: (inner) => ({ usedCount: () => 2 * inner.usedCount(), effectiveCount: () => 2 * inner.effectiveCount() }),
    },
    {
      what: 'says so twice',
      clause: 'one-verdict-each',
      hears: (listener) => (verdict) => {
        listener(verdict);
        if (verdict.reason === 'taken') listener(verdict);
      },
    },
    {
      what: 'promises to be free of order, but forgets',
      clause: 'order-free',
      base: forgettingAverage,
      parameters: { memorySweeps: 50 },
      declares: { orderFree: true },
    },
    {
      what: 'explains nothing',
      clause: 'explains-itself',
      declares: { explain: () => '' },
    },
  ];
  let shared = 0;

  it('is not fooled by a strategy that looks ahead through a shared store', () => {
    const seen: Float64Array[] = [];
    const ahead: AveragingStrategy = {
      ...plainMean,
      create(context, parameters, listener) {
        const inner = plainMean.create(context, parameters as object, listener);
        return {
          ...inner,
          add(sweepUv, meta) {
            seen[meta.index] = sweepUv.slice();
            const next = seen[meta.index + 1]; // from another averager's run
            inner.add(next ? sweepUv.map((value, i) => 0.5 * (value + next[i])) : sweepUv, meta);
          },
        };
      },
    };
    const caught = clausesOf(ahead).find(({ breach }) => breach({ strategy: ahead, parameters: {} }) !== null);
    expect(caught?.id).toBe('causal');
  });

  it('has sweeps that tell strategies apart', () => {
    const sweeps: OfferedSweep[] = contractPatient(400, '7');
    const ends = subjects.map((subject) => outcomeOf(subject, sweeps).estimateUv.join());
    // Gated by behaviour is the plain mean where no sensor speaks, a long memory where nothing is forgotten yet.
    expect(new Set(ends).size).toBe(subjects.length - 2);
    expect(openSubject(subjects[0]).verdicts).toEqual([]);
  });
});
