import { describe, expect, it } from 'vitest';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import { curveCsv } from '../../../src/web/model/curveTables.ts';
import { disagreements, duelOf, duelTables } from '../../../src/web/model/duel.ts';
import { RunRecord } from '../../../src/web/model/runRecord.ts';
import { sweepBatcher } from '../../../src/web/worker/sweepBatcher.ts';
import { finishedBench } from './finishedBench.ts';

const scenario = resolveScenario({
  session: { durationS: 30 },
  muscle: { burstsPerS: 0.3 },
  lanes: [{ strategy: 'plain-mean' }, { strategy: 'threshold-rejection' }, { strategy: 'plain-mean' }],
});
const record = new RunRecord(scenario);
const batcher = sweepBatcher(1, scenario, '4');
while (batcher.addSweep());
record.add(batcher.take());

describe('duelOf', () => {
  it('finds no difference and no noise between two lanes that do the same', () => {
    const duel = duelOf(record, 0, 2);
    expect(duel.differenceRmsUv).toBe(0);
    expect(duel.noiseUv).toBe(0);
    expect(duel.beyondShare).toBe(0);
    expect(disagreements(record, duel)).toEqual([]);
  });

  it('is second − first, with the noise of the difference, which is less than that of the averages', () => {
    const duel = duelOf(record, 0, 1);
    const [mean, rejecting] = record.lanes;
    for (const i of [0, 100, 200]) expect(duel.differenceUv[i]).toBe(rejecting.averageUv[i] - mean.averageUv[i]);
    expect(Array.from(duelOf(record, 1, 0).differenceUv, (uv) => -uv || 0)).toEqual(
      Array.from(duel.differenceUv, (uv) => uv || 0),
    );
    expect(duel.noiseUv).toBeGreaterThan(0);
    expect(duel.noiseUv).toBeLessThan(Math.hypot(mean.reading.ownNoiseUv, rejecting.reading.ownNoiseUv));
    expect(duel.beyondShare).toBeLessThan(0.5);
  });

  it('names the sweeps on which they disagree: those that one of them left out', () => {
    const apart = disagreements(record, duelOf(record, 0, 1));
    expect(apart).toHaveLength(10);
    for (const { index, weights } of apart) {
      expect(weights[0]).toBeGreaterThan(1); // a few more were flagged, and left out by both
      expect(weights[1]).toBe(0);
      expect(record.verdict(1, index).reason).toBe('rejected');
    }
  });

  it('gives its two pictures as tables that can be saved as CSV', () => {
    const bench = finishedBench({ session: { durationS: 10 }, muscle: { burstsPerS: 0.3 } });
    const duel = duelOf(bench.record, 0, 1);
    const [difference, weights] = duelTables(duel).map((table) => {
      expect(curveCsv(table, bench)).toContain('not for clinical decisions');
      return table.rows(bench);
    });
    expect(difference).toHaveLength(bench.record.samplesPerSweep + 1);
    const [timeMs, first, second, uv] = difference[101] as number[];
    expect(timeMs).toBeCloseTo(((100 - bench.record.preSampleCount) * 1000) / bench.scenario.converter.sampleRateHz, 9);
    expect(uv).toBeCloseTo(second - first, 12);
    expect([first, second]).toEqual([0, 1].map((lane) => bench.record.lanes[lane].averageUv[100]));
    expect(weights.at(-1)).toEqual([
      bench.record.offeredCount,
      ...[0, 1].map((lane) => bench.record.normalisedWeight(lane, bench.record.offeredCount - 1)),
    ]);
  });
});
