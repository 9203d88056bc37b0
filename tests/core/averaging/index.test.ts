import type { TSchema } from '@sinclair/typebox';
import { describe, expect, it } from 'vitest';
import { finalShares } from '../../../src/core/averaging/finalShares.ts';
import { averagingStrategies, averagingStrategy } from '../../../src/core/averaging/index.ts';
import {
  type Averager,
  type AveragingContext,
  belongsToA,
  type SweepVerdict,
  type WeightReason,
} from '../../../src/core/averaging/strategy.ts';
import { fillGaussian, nextUniform, stream } from '../../../src/core/random/stream.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { mean, standardError } from '../sampleStatistics.ts';

// The contract of every averaging strategy, with the default tunables of its scenario section.

const LENGTH = 64;
const context: AveragingContext = {
  samplesPerSweep: LENGTH,
  sampleRateHz: 16000,
  preSampleCount: 16,
  analysisFrom: 20,
  analysisTo: 60,
  respectFlags: true,
};

interface Offered {
  sweepUv: Float64Array;
  overRange?: boolean;
}

/** A small response in noise whose size changes from sweep to sweep; now and then one is over-range. */
function patient(count: number, seed: string, noiseUv = 3): Offered[] {
  const draws = stream(seed, 'test/patient');
  return Array.from({ length: count }, (_, k) => {
    const sweepUv = new Float64Array(LENGTH);
    fillGaussian(draws, sweepUv, LENGTH);
    const size = noiseUv * (k % 10 === 9 ? 20 * nextUniform(draws) : 0.5 + nextUniform(draws));
    for (let i = 0; i < LENGTH; i++) sweepUv[i] = size * sweepUv[i] + 0.4 * Math.sin(i / 5);
    return { sweepUv, overRange: k % 13 === 12 };
  });
}

const defaults = resolveScenario({}).averaging as unknown as Record<string, Record<string, number>>;

const strategies = averagingStrategies.map((strategy) => [strategy.id, strategy] as const);

describe('averagingStrategies', () => {
  it('have ids and scenario keys of their own, and something to say', () => {
    for (const key of ['id', 'scenarioKey', 'label'] as const) {
      expect(new Set(averagingStrategies.map((strategy) => strategy[key])).size).toBe(averagingStrategies.length);
    }
    for (const { id, scenarioKey, label, summary } of averagingStrategies) {
      expect(id).toMatch(/^[a-z]+(-[a-z]+)*$/);
      expect(scenarioKey).toBe(id.replace(/-(.)/g, (_, letter: string) => letter.toUpperCase()));
      expect(label).toMatch(/^[A-Z]/);
      expect(summary).toMatch(/^[A-Z].*\.$/);
    }
  });

  it('are found by id; an unknown one is refused with the choices', () => {
    for (const [id, strategy] of strategies) expect(averagingStrategy(id)).toBe(strategy);
    const choices = averagingStrategies.map(({ id }) => id).join(', ');
    const rule = new RangeError(`unknown averaging strategy "median-ish"; one of ${choices}`);
    expect(() => averagingStrategy('median-ish')).toThrow(rule);
    expect(() => averagingStrategy('toString')).toThrow(RangeError);
  });
});

describe.each(strategies)('strategy %s', (_id, strategy) => {
  const parameters = defaults[strategy.scenarioKey];

  /** Opens an averager that writes down its verdicts. */
  function open(overrides: Partial<AveragingContext> = {}, tunables = parameters) {
    const verdicts: SweepVerdict[] = [];
    const listener = (verdict: Readonly<SweepVerdict>) => verdicts.push({ ...verdict });
    return { averager: strategy.create({ ...context, ...overrides }, tunables, listener), verdicts };
  }

  function offer(averager: Averager, sweeps: readonly Offered[], from = 0): void {
    for (const [k, { sweepUv, overRange = false }] of sweeps.entries()) {
      const index = from + k;
      averager.add(sweepUv, { index, timeS: index / 30, polarity: index % 2 === 0 ? 1 : -1, overRange });
    }
  }

  /** Everything that can be asked of an averager. */
  function answers(averager: Averager) {
    const [estimate, bufferA, bufferB] = [0, 0, 0].map(() => new Float64Array(LENGTH));
    averager.read(estimate);
    averager.readPair(bufferA, bufferB);
    return {
      estimate,
      bufferA,
      bufferB,
      own: averager.ownNoiseUv(),
      used: averager.usedCount(),
      effective: averager.effectiveCount(),
    };
  }

  function outcomeOf(sweeps: readonly Offered[], overrides: Partial<AveragingContext> = {}, tunables = parameters) {
    const { averager, verdicts } = open(overrides, tunables);
    offer(averager, sweeps);
    return { ...answers(averager), verdicts };
  }

  const sweeps = patient(400, '7');
  const isNaNs = (values: Float64Array) => values.every(Number.isNaN);

  it('knows nothing before the first sweep: NaN and 0', () => {
    const nothing = answers(open().averager);
    for (const buffer of [nothing.estimate, nothing.bufferA, nothing.bufferB]) expect(isNaNs(buffer)).toBe(true);
    expect([nothing.own, nothing.used, nothing.effective]).toEqual([NaN, 0, 0]);
  });

  it('comes to know something', () => {
    const known = outcomeOf(sweeps);
    for (const buffer of [known.estimate, known.bufferA, known.bufferB])
      expect(buffer.every(Number.isFinite)).toBe(true);
    expect(known.own).toBeGreaterThan(0);
    expect(known.used).toBeGreaterThan(100);
  });

  it('is causal and deterministic: what comes later, or in another lane, changes nothing now', () => {
    const others = [...sweeps.slice(0, 200), ...patient(200, '8')];
    const [one, two] = [open(), open()];
    for (let k = 0; k < 400; k++) {
      offer(one.averager, [sweeps[k]], k);
      offer(two.averager, [others[k]], k);
      if (k < 200) expect(answers(one.averager)).toEqual(answers(two.averager));
    }
    expect(answers(one.averager)).not.toEqual(answers(two.averager));
    expect(answers(one.averager)).toEqual((({ verdicts, ...rest }) => rest)(outcomeOf(sweeps)));
  });

  it('does not keep the sweep, nor touch it, nor mind being asked', () => {
    const kept = outcomeOf(sweeps);
    const { averager } = open();
    const shared = new Float64Array(LENGTH);
    for (const [k, { sweepUv, overRange }] of sweeps.entries()) {
      shared.set(sweepUv);
      offer(averager, [{ sweepUv: shared, overRange }], k);
      expect(shared).toEqual(sweepUv);
      shared.fill(NaN);
      if (k % 7 === 0) answers(averager);
    }
    expect(answers(averager).estimate).toEqual(kept.estimate);
    expect(answers(averager).own).toBe(kept.own);
  });

  it('works in the unit of the sweeps: ×2 with ×2 tunables doubles all µV, and leaves counts', () => {
    const scaled = Object.fromEntries(
      Object.entries(parameters).map(([key, value]) => {
        const { unit } = strategy.parameters.properties[key] as TSchema & { unit: string };
        return [key, unit === 'µV' ? 2 * value : unit === 'µV²' ? 4 * value : value];
      }),
    );
    const one = outcomeOf(sweeps);
    const two = outcomeOf(
      sweeps.map(({ sweepUv, overRange }) => ({ sweepUv: sweepUv.map((uv) => 2 * uv), overRange })),
      {},
      scaled,
    );
    // The Kalman start (10⁶ µV²) is the one absolute number: it shows in the sixth digit.
    for (let i = 0; i < LENGTH; i++) expect(Math.abs(two.estimate[i] - 2 * one.estimate[i])).toBeLessThan(1e-4);
    expect(two.own / one.own).toBeCloseTo(2, 4);
    expect(two.used).toBe(one.used);
    expect(two.effective / one.effective).toBeCloseTo(1, 4);
  });

  it('does not know up from down: upside-down sweeps give an upside-down average', () => {
    const upside = outcomeOf(sweeps);
    const down = outcomeOf(sweeps.map(({ sweepUv, overRange }) => ({ sweepUv: sweepUv.map((uv) => -uv), overRange })));
    expect(down.estimate).toEqual(upside.estimate.map((uv) => -uv));
    expect([down.own, down.used, down.effective]).toEqual([upside.own, upside.used, upside.effective]);
  });

  it('returns a sweep that is always the same, or says that it cannot tell', () => {
    const sweepUv = Float64Array.from({ length: LENGTH }, (_, i) => 0.1 * Math.sin(i));
    const { estimate, used } = outcomeOf(Array<Offered>(256).fill({ sweepUv }));
    if (used === 0) expect(isNaNs(estimate)).toBe(true);
    else for (let i = 0; i < LENGTH; i++) expect(estimate[i]).toBeCloseTo(sweepUv[i], 10);
  });

  it('leaves flagged sweeps out: what is in them does not matter', () => {
    const spoiled = sweeps.map((sweep) =>
      sweep.overRange ? { ...sweep, sweepUv: new Float64Array(LENGTH).fill(1e6) } : sweep,
    );
    const { estimate, own, used, effective, verdicts } = outcomeOf(spoiled);
    const clean = outcomeOf(sweeps);
    expect({ estimate, own, used, effective }).toEqual({
      estimate: clean.estimate,
      own: clean.own,
      used: clean.used,
      effective: clean.effective,
    });
    const flagged = verdicts.filter(({ index }) => sweeps[index].overRange);
    expect(flagged.length).toBe(sweeps.filter(({ overRange }) => overRange).length);
    for (const { reason, weight } of flagged) expect([reason, weight]).toEqual(['flagged', 0]);
  });

  it('takes flagged sweeps like any other where flags are not respected', () => {
    const { estimate, verdicts } = outcomeOf(sweeps, { respectFlags: false });
    expect(verdicts.some(({ reason }) => reason === 'flagged')).toBe(false);
    const none = sweeps.map(({ sweepUv }) => ({ sweepUv }));
    expect(estimate).toEqual(outcomeOf(none, { respectFlags: true }).estimate);
    expect(estimate).not.toEqual(outcomeOf(sweeps).estimate);
  });

  it('gives one verdict per sweep, in the end: at once or when its block is full', () => {
    const { averager, verdicts } = open();
    const blockLength = parameters.blockLength ?? 1;
    const waiting = new Set<number>();
    for (let k = 0; k < sweeps.length; k++) {
      waiting.add(k);
      const before = verdicts.length;
      offer(averager, [sweeps[k]], k);
      for (const { index } of verdicts.slice(before)) expect(waiting.delete(index), `sweep ${index}`).toBe(true);
      if (strategy.timing === 'online') expect(waiting.size).toBe(0);
      else expect(waiting.size).toBeLessThan(blockLength);
    }
    expect(verdicts.length + waiting.size).toBe(sweeps.length);
  });

  it('verdicts explain the average: Σ share·sweep is what is read, and so are both buffers and both counts', () => {
    for (const count of [64, 65, 200, 400]) {
      const some = sweeps.slice(0, count);
      const { estimate, bufferA, bufferB, used, effective, verdicts } = outcomeOf(some);
      const shares = finalShares(verdicts, count);
      const sums = [0, 1, 2].map(() => new Float64Array(LENGTH));
      const shareSums = [0, 0, 0];
      for (const [k, { sweepUv }] of some.entries()) {
        for (const buffer of [0, belongsToA(k) ? 1 : 2]) {
          shareSums[buffer] += shares[k];
          for (let i = 0; i < LENGTH; i++) sums[buffer][i] += shares[k] * sweepUv[i];
        }
      }
      for (const [buffer, read] of [estimate, bufferA, bufferB].entries()) {
        for (let i = 0; i < LENGTH; i++) expect(read[i]).toBeCloseTo(sums[buffer][i] / shareSums[buffer], 9);
      }
      expect(shares.filter((share) => share > 0).length).toBe(used);
      const squares = shares.reduce((sum, share) => sum + share * share, 0);
      expect(effective * squares).toBeCloseTo(1, 9);
    }
  });

  it('halves combine to the whole: the average lies between A and B at every sample', () => {
    const { estimate, bufferA, bufferB } = outcomeOf(sweeps);
    const fractions = estimate.map((value, i) => (value - bufferB[i]) / (bufferA[i] - bufferB[i]));
    for (const fraction of fractions) expect(fraction).toBeCloseTo(fractions[0], 6); // the same weights at every sample
    expect(fractions[0]).toBeGreaterThan(0.2);
    expect(fractions[0]).toBeLessThan(0.8);
  });

  it('deals alternate pairs of sweeps to A and B, so that each holds both polarities', () => {
    expect(Array.from({ length: 9 }, (_, k) => belongsToA(k))).toEqual([
      true,
      true,
      false,
      false,
      true,
      true,
      false,
      false,
      true,
    ]);
    // A marked A-sweep must not be seen in B, whatever the weights.
    const marked = patient(256, '9', 1).map(({ sweepUv }, k) => ({
      sweepUv: sweepUv.map((uv) => uv + (belongsToA(k) ? 3 : 0)),
    }));
    const { bufferA, bufferB } = outcomeOf(marked);
    expect(mean(bufferA)).toBeGreaterThan(2.5);
    expect(Math.abs(mean(bufferB))).toBeLessThan(0.5);
  });

  it('effective ≤ used ≤ offered, after every sweep', () => {
    const { averager } = open();
    for (let k = 0; k < sweeps.length; k++) {
      offer(averager, [sweeps[k]], k);
      expect(averager.usedCount()).toBeLessThanOrEqual(k + 1);
      expect(averager.effectiveCount()).toBeLessThanOrEqual(averager.usedCount() * (1 + 1e-12));
      expect(averager.effectiveCount()).toBeGreaterThanOrEqual(0);
    }
  });

  const strange = [
    // what, sweep, why
    ['silence', 0, 'a flat sweep has no noise to divide by'],
    ['a pinned line', 50, 'nor has this one'],
    ['a huge one', 1e9, 'its square is 10¹⁸'],
    ['a tiny one', 1e-9, 'its square is 10⁻¹⁸'],
  ] as const;
  it.each(strange)('is not poisoned by %s among the sweeps, nor at the start', (_what, level, why) => {
    const sweepUv = Float64Array.from({ length: LENGTH }, (_, i) => level * (1 + (level > 100 ? Math.sin(i) : 0)));
    const alone = outcomeOf([{ sweepUv }]);
    if (alone.used > 0) for (let i = 0; i < LENGTH; i++) expect(alone.estimate[i], why).toBeCloseTo(sweepUv[i], 6);
    else expect(isNaNs(alone.estimate), why).toBe(true);
    for (const at of [0, 100]) {
      const run = outcomeOf([...sweeps.slice(0, at), { sweepUv }, ...sweeps.slice(at)]);
      expect(run.estimate.every(Number.isFinite), `${why}, at ${at}`).toBe(true);
      expect(run.own, `${why}, at ${at}`).toBeGreaterThan(0);
      expect(run.own).toBeLessThan(Infinity);
      expect(run.effective).toBeGreaterThan(0);
    }
  });

  it('lives through a whole run of flat sweeps', () => {
    const flat = Array.from({ length: 100 }, () => ({ sweepUv: new Float64Array(LENGTH) }));
    const { estimate } = outcomeOf([...flat, ...sweeps]);
    expect(estimate.every(Number.isFinite)).toBe(true);
  });

  it('explains every verdict in one plain sentence', () => {
    const { verdicts } = outcomeOf([
      ...sweeps,
      ...patient(64, '9').map(({ sweepUv }) => ({ sweepUv, overRange: true })),
    ]);
    const reasons: WeightReason[] = ['taken', 'down-weighted', 'rejected', 'flagged', 'waiting'];
    const seen = new Set(verdicts.map(({ reason }) => reason));
    expect(seen.has('taken') && seen.has('flagged')).toBe(true);
    for (const reason of seen) expect(reasons).toContain(reason);
    for (const verdict of verdicts) {
      expect(strategy.explain(verdict)).toMatch(/^[A-Z][^\n]*\.$/);
      expect(strategy.explain(verdict)).not.toMatch(/NaN|undefined|Infinity|null/);
    }
    const flat = outcomeOf(Array.from({ length: 256 }, () => ({ sweepUv: new Float64Array(LENGTH) }))).verdicts;
    for (const verdict of flat) expect(strategy.explain(verdict)).not.toMatch(/NaN|undefined|Infinity|null/);
  });

  it('keeps nothing per sweep: 50 000 sweeps later it holds as much as after 500', () => {
    const { averager } = (() => ({ averager: strategy.create(context, parameters, () => {}) }))();
    offer(averager, sweeps);
    const before = process.memoryUsage().arrayBuffers;
    for (let round = 0; round < 125; round++) offer(averager, sweeps, 400 * (round + 1));
    expect(process.memoryUsage().arrayBuffers - before).toBeLessThan(1e6); // the sweeps alone would be 26 MB
  });

  // White noise of 2 µV in every sample, 30 runs of 320 sweeps: what is left should be 2/√320 = 0.112 µV.
  it('its own claim is the truth for white noise, within 12 %, and the truth is 2/√320 µV', () => {
    const claims: number[] = [];
    const powers: number[] = [];
    for (let run = 0; run < 30; run++) {
      const draws = stream(String(run), 'test/white');
      const white = Array.from({ length: 320 }, () => {
        const sweepUv = new Float64Array(LENGTH);
        fillGaussian(draws, sweepUv, LENGTH);
        return { sweepUv: sweepUv.map((value) => 2 * value) };
      });
      const { estimate, own } = outcomeOf(white);
      claims.push(own * Math.sqrt(320));
      powers.push(mean(estimate.subarray(20, 60).map((uv) => uv * uv)) * 320);
    }
    // Weights that follow chance cost up to 5 % of power; blocks and means cost none.
    expect(Math.abs(mean(powers) - 4)).toBeLessThan(4 * standardError(powers) + 0.2);
    expect(Math.abs(mean(claims) / 2 - 1)).toBeLessThan(0.12);
  });
});
