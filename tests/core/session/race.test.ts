import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import type { Scenario } from '../../../src/core/scenario/schema.ts';
import { checkpointSweeps, type RaceOrder, type RaceResult, race } from '../../../src/core/session/race.ts';

function finish(scenario: Scenario, order: RaceOrder): RaceResult {
  const steps = race(scenario, order);
  for (;;) {
    const step = steps.next();
    if (step.done) return step.value;
  }
}

const clencher = resolveScenario({
  session: { durationS: 20 },
  muscle: { burstsPerS: 0.5 },
  amplifier: { rangeUv: 1000 },
  converter: { sampleRateHz: 8000 },
});
const order = { seed: '3', replicates: 4, targetNv: 150 };

describe('race', () => {
  it('gives the same numbers twice, and the first replicate is the seed itself', () => {
    const first = finish(clencher, order);
    expect(finish(clencher, order)).toEqual(first);
    const alone = finish(clencher, { ...order, replicates: 1 });
    for (const [k, lane] of alone.lanes.entries()) expect(lane.residualNoiseNv).toBe(first.lanes[k].residualNoiseNv);
  });

  it('gives each lane the same sweeps, whoever else competes', () => {
    const all = finish(clencher, order);
    const kalmanLane = all.lanes[3];
    const { strategy, parameters } = kalmanLane;
    const alone = finish(clencher, { ...order, lanes: [{ strategy, parameters }] }).lanes[0];
    expect(alone).toEqual({ ...kalmanLane, efficiency: null }); // no plain mean to compare with
  });

  it('compares each lane with the plain mean, and counts the verdicts of all replicates', () => {
    const [plain, , blocks] = finish(clencher, order).lanes;
    expect(plain.efficiency).toMatchObject({ noiseDb: { value: 0 } });
    expect(blocks.efficiency?.noiseDb.value).toBeGreaterThan(3); // bursts: the plain mean is far behind
    for (const { verdicts } of [plain, blocks]) {
      expect(Object.values(verdicts).reduce((sum, count) => sum + count, 0)).toBe(order.replicates);
    }
  });

  it('is at the target from its arrival on, and was not just before', () => {
    const { lanes } = finish(clencher, order);
    const arrived = lanes.filter((lane) => lane.secondsToTarget !== null);
    expect(arrived.length).toBeGreaterThan(0);
    for (const { secondsToTarget, sweepsToTarget, curve } of arrived) {
      const at = curve.findIndex(({ seconds }) => seconds === secondsToTarget?.value);
      expect(curve.slice(at).every(({ noiseNv }) => noiseNv <= 150)).toBe(true);
      expect(curve[at - 1].noiseNv).toBeGreaterThan(150);
      // Sweep n is complete (n − 1) intervals and the window after the first stimulus.
      expect(secondsToTarget?.value).toBeCloseTo(((sweepsToTarget ?? 0) - 1) / 27.7 + 0.015, 9);
    }
  });

  it('tells every replicate at its end, and their root mean square is the expected noise', () => {
    for (const { runs, expectedResidualNoiseNv, residualNoiseNv, amplitudeGain } of finish(clencher, order).lanes) {
      expect(runs).toHaveLength(4);
      expect(runs[0].noiseNv).toBe(residualNoiseNv);
      const meanSquare = runs.reduce((sum, { noiseNv }) => sum + noiseNv * noiseNv, 0) / 4;
      expect(Math.sqrt(meanSquare)).toBeCloseTo(expectedResidualNoiseNv.value, 9);
      expect(runs.reduce((sum, { gain }) => sum + gain, 0) / 4).toBeCloseTo(amplitudeGain.value, 12);
      for (const { arrivalS, noiseNv } of runs) expect(noiseNv <= 150).toBe(arrivalS !== null);
    }
  });

  it('counts rejected sweeps as offered: they cost their time', () => {
    const [, rejection] = finish(clencher, order).lanes;
    expect(rejection.sweepsUsed).toBeLessThan(rejection.sweepsOffered);
    expect(rejection.sweepsOffered).toBe(Math.floor(20 * 27.7));
  });

  it('has intervals that hold the value, from three replicates on', () => {
    for (const { expectedResidualNoiseNv: noise, amplitudeGain: gain } of finish(clencher, order).lanes) {
      expect(noise.low).toBeLessThanOrEqual(noise.value);
      expect(noise.high).toBeGreaterThanOrEqual(noise.value);
      expect(gain.low).toBeLessThanOrEqual(gain.high);
    }
    const [two] = finish(clencher, { ...order, replicates: 2 }).lanes;
    expect(two.expectedResidualNoiseNv.low).toBeNaN();
  });

  it('shows a strategy that throws every sweep away as having nothing, not as perfect', () => {
    const lanes = [{ strategy: 'threshold-rejection', parameters: { thresholdUv: 0.1, skipMs: 1 } }];
    const [lane] = finish(clencher, { ...order, lanes }).lanes;
    expect(lane.sweepsUsed).toBe(0);
    expect(lane.secondsToTarget).toBeNull();
    expect(lane.residualNoiseNv).toBeNaN();
  });

  it('runs on the contralateral channel when told to', () => {
    const other = resolveScenario({ ...clencher, averaging: { ...clencher.averaging, channel: 'contralateral' } });
    const ipsi = finish(clencher, order).lanes[0].residualNoiseNv;
    expect(finish(other, order).lanes[0].residualNoiseNv).not.toBe(ipsi);
  });

  it.each([
    [{ replicates: 0 }, 'replicates must be a whole number from 1 to 10000, got 0'],
    [{ replicates: Number.NaN }, 'got NaN'],
    [{ targetNv: 0 }, 'targetNv must be > 0, got 0'],
    [{ lanes: [{ strategy: 'wishful', parameters: {} }] }, 'unknown averaging strategy "wishful"; one of plain-mean'],
  ])('refuses %j', (change, message) => {
    expect(() => finish(clencher, { ...order, ...change })).toThrow(message);
  });
});

describe('checkpointSweeps', () => {
  it.each([8, 9, 100, 3324, 500000])('rises without repeats and ends at the last sweep: %i sweeps', (count) => {
    const counts = checkpointSweeps(count);
    expect(counts.at(-1)).toBe(count);
    for (let j = 1; j < counts.length; j++) expect(counts[j]).toBeGreaterThan(counts[j - 1]);
    expect(counts.length).toBeLessThanOrEqual(241);
  });
});
