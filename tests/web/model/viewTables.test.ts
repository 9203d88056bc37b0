import { describe, expect, it } from 'vitest';
import { resolveScenario, withOverrides } from '../../../src/core/scenario/resolve.ts';
import { noiseLedger } from '../../../src/core/session/ledger.ts';
import { race } from '../../../src/core/session/race.ts';
import { type CurveTable, curveCsv } from '../../../src/web/model/curveTables.ts';
import { marksByRule } from '../../../src/web/model/deskReading.ts';
import { harmonicDistance, lockDistances } from '../../../src/web/model/rateAdvice.ts';
import { scenarioAtLevel, seriesRun } from '../../../src/web/model/series.ts';
import {
  comparisonTables,
  deskTables,
  expectedTables,
  rateTables,
  rigTables,
  seriesTables,
  verdictTables,
} from '../../../src/web/model/viewTables.ts';
import { type FullRun, fullRun } from '../../../src/web/worker/fullRun.ts';
import { finishedBench } from './finishedBench.ts';

const document = { session: { durationS: 20 }, muscle: { burstsPerS: 0.5 } };
const bench = finishedBench(document);
const { scenario, record } = bench;

function ended<Result>(steps: Generator<unknown, Result>): Result {
  let step = steps.next();
  while (!step.done) step = steps.next();
  return step.value;
}

const runOf = (given = scenario): FullRun => ended(fullRun(given, '3', bench.laneSettings));

/** The rows of a table without its header; each must be as wide as it. */
function rowsOf(table: CurveTable): (string | number | null)[][] {
  const [header, ...rows] = table.rows(bench);
  for (const row of rows) expect(row, table.id).toHaveLength(header.length);
  expect(curveCsv(table, bench)).toContain('not for clinical decisions');
  return rows;
}

describe('tables of the views', () => {
  it('desk: trace, overlay and their difference; marks with errors only once they are committed', () => {
    bench.desk.choose({ overlay: { kind: 'lane', lane: 2 } });
    bench.desk.putAll(marksByRule(scenario, bench.desk.trace));
    const [curves, marks] = deskTables(bench);
    const rows = rowsOf(curves);
    expect(rows).toHaveLength(record.samplesPerSweep);
    const [timeMs, uv, , , over, difference, truth] = rows[150] as number[];
    expect(timeMs).toBeCloseTo(((150 - record.preSampleCount) * 1000) / scenario.converter.sampleRateHz, 9);
    expect([uv, over, truth]).toEqual([
      record.lanes[0].averageUv[150],
      record.lanes[2].averageUv[150],
      record.truthUv[150],
    ]);
    expect(difference).toBeCloseTo(uv - over, 12);
    expect(marks.rows(bench)[0]).not.toContain('error');
    bench.desk.commit();
    const [told] = deskTables(bench).slice(1);
    const waveV = rowsOf(told).find(([name]) => name === 'V');
    const error = bench.desk.reading.errors.find(({ name }) => name === 'V');
    expect(waveV?.at(-1)).toBe(error?.latencyErrorMs);
  });

  it('series: the averages at each level, and a log that keeps the rule back until something is said', () => {
    bench.setSeries(
      [70, 40].map((levelDb) => {
        const at = scenarioAtLevel(scenario, levelDb);
        return seriesRun(at, runOf(at), levelDb, '3', 0);
      }),
    );
    const [levels, log] = seriesTables();
    expect(rowsOf(levels)[100]).toEqual(expect.arrayContaining(bench.series.map(({ averageUv }) => averageUv[100])));
    expect(rowsOf(log).map((row) => row.slice(-2))).toEqual([
      ['', ''],
      ['', ''],
    ]);
    bench.setSeries(bench.series.map((run) => ({ ...run, ownVerdict: 'present' as const })));
    expect(rowsOf(log).map((row) => row.slice(-2))).toEqual(
      bench.series.map(({ ruleVerdict }) => ['present', ruleVerdict]),
    );
  });

  it('rates and leads: what the pictures show', () => {
    const row = rowsOf(rateTables()[0]).find(([ratePerS]) => ratePerS === 25) as number[];
    expect(row[1]).toBe(0); // 50 Hz at 25/s: every second wave
    expect(row[3]).toBe(harmonicDistance(25, 50, 3));
    expect(row.slice(-3)).toEqual(lockDistances(25, 60));
    const [pickup, contacts] = rigTables(resolveScenario(withOverrides(scenario, ['room.fieldUt=1'])));
    const loop = rowsOf(pickup).find(([path]) => String(path).startsWith('Magnetic field through')) as number[];
    expect(loop[2]).toBeCloseTo(18.8, 1); // 1 µT, 50 Hz, 0.06 m²: 2π·50·1e-6·0.06 V
    expect(rowsOf(contacts).map(([name]) => name)).toEqual(['common', 'ipsilateral', 'contralateral', 'ground']);
  });

  it('compare: before, after and the difference; without the truth while it is sealed', () => {
    const without = resolveScenario(withOverrides(scenario, ['session.mute=["muscle"]']));
    const [before, after] = [runOf(), runOf(without)];
    const [curves, lanes] = comparisonTables(before, after, without, true);
    const [, a, b, difference] = rowsOf(curves)[120] as number[];
    expect([a, b]).toEqual([before.lanes[0].averageUv[120], after.lanes[0].averageUv[120]]);
    expect(difference).toBeCloseTo(b - a, 9);
    expect(rowsOf(lanes)).toHaveLength(before.lanes.length);
    const sealed = comparisonTables(before, after, without, false);
    expect(sealed.flatMap((table) => table.rows(bench)[0]).join(' ')).not.toMatch(/truth|true|gain/);
  });

  it('verdict and race: ledger, claims, patients; nothing of them while the truth is sealed', () => {
    const ledgers = ended(noiseLedger(scenario, '3', bench.laneSettings));
    const order = { seed: '3', replicates: 2, targetNv: 100, lanes: bench.laneSettings, oracle: true };
    const others = ended(race(scenario, order));
    const [claims, ledger, patients] = verdictTables(bench, ledgers, others);
    const last = rowsOf(claims).at(-1) as number[];
    const { ownNoiseUv, residualNoiseUv } = record.lanes[1].reading;
    expect(last[3]).toBeCloseTo(ownNoiseUv / residualNoiseUv, 6);
    expect(rowsOf(ledger).at(-1)?.[1]).toBe(ledgers[0].totalNv);
    expect(rowsOf(patients)).toHaveLength(2 * (record.lanes.length + 1));
    const [expected] = expectedTables(others);
    expect(rowsOf(expected).at(-1)?.[1]).toBe(others.lanes[0].curve.at(-1)?.noiseNv);
    bench.sealTruth(true);
    expect(verdictTables(bench, ledgers, others)).toEqual([]);
    bench.sealTruth(false);
  });
});
