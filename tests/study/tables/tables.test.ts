import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { csvParse } from 'd3-dsv';
import { beforeAll, describe, expect, it } from 'vitest';
import { sweepwise } from '../../cli/sweepwise.ts';
import { scratchFolder, studyFile } from '../engines/resultFolder.ts';
import { CHEAP, smallStudy } from '../small.ts';

const folder = scratchFolder('tables');
const out = join(folder, 'out');

/** Asks DuckDB, a reader that has nothing in common with the writer. */
async function ask(query: string): Promise<Record<string, unknown>[]> {
  const connection = await (await DuckDBInstance.create(':memory:')).connect();
  const answer = await connection.runAndReadAll(query);
  return answer.getRowObjectsJson() as Record<string, unknown>[];
}

describe('the table of rows', () => {
  beforeAll(() => {
    const text = smallStudy({
      scenarios: `[{ id: clencher, scenario: jaw-clencher, set: ${CHEAP}, draw: { muscle.burstUv: { uniform: [10, 40] }, eeg.state: { oneOf: [alert, relaxed] } } }]`,
      vary: '{ muscle.durationS: [0.1, 0.4] }',
    });
    const { status, stderr } = sweepwise([
      'study',
      'run',
      studyFile(folder, 's.yaml', text),
      '--out',
      out,
      '--quiet',
      '--workers',
      '1',
    ]);
    expect(stderr).toBe('');
    expect(status).toBe(0);
  });

  it('says the same as Parquet and as CSV, row by row and figure by figure', async () => {
    const parquet = await ask(`SELECT * FROM '${join(out, 'rows.parquet')}'`);
    const csv = csvParse(readFileSync(join(out, 'rows.csv'), 'utf8'));
    expect(parquet.length).toBe(36);
    expect(Object.keys(parquet[0])).toEqual(csv.columns);
    for (const [k, row] of parquet.entries()) {
      for (const column of csv.columns) expect(`${column} ${row[column] ?? ''}`).toBe(`${column} ${csv[k][column]}`);
    }
  });

  it('has typed columns that can be computed with, in both formats', async () => {
    const types = await ask(`DESCRIBE SELECT * FROM '${join(out, 'rows.parquet')}'`);
    const typeOf = (name: string) => types.find((row) => row.column_name === name)?.column_type;
    expect(typeOf('residualNoiseNv')).toBe('DOUBLE');
    expect(typeOf('muscle.durationS')).toBe('DOUBLE');
    expect(typeOf('eeg.state')).toBe('VARCHAR');
    expect(typeOf('replicate')).toBe('INTEGER');
    const query = (file: string) =>
      ask(
        `SELECT setting, count(*)::INT AS n, avg(residualNoiseNv) AS noise FROM '${join(out, file)}' GROUP BY setting ORDER BY setting`,
      );
    const answer = await query('rows.parquet');
    expect(answer.map(({ setting, n }) => [setting, n])).toEqual([
      ['block-weighting blockLength=16', 12],
      ['block-weighting blockLength=4', 12],
      ['plain-mean', 12],
    ]);
    expect(await query('rows.csv')).toEqual(answer);
  });

  it('carries its whole provenance in every row, and in the head of the Parquet file', async () => {
    const [row] = await ask(`SELECT * FROM '${join(out, 'rows.parquet')}' LIMIT 1`);
    expect(row.study).toBe('small');
    expect(row.studyHash).toMatch(/^[0-9a-f]{12}$/);
    expect(row.scenarioHash).toMatch(/^[0-9a-f]{12}$/);
    expect(row.version).toMatch(/^\d+\.\d+\.\d+\+[0-9a-f]{8}$/);
    expect(row.seed).toBe('1/train/0');
    const head = await ask(
      `SELECT decode(key) AS key, decode(value) AS value FROM parquet_kv_metadata('${join(out, 'rows.parquet')}')`,
    );
    expect(head).toContainEqual({ key: 'studyHash', value: row.studyHash });
  });

  it('has the figures that a race with the same scenario and seed gives', async () => {
    const rows = await ask(
      `SELECT * FROM '${join(out, 'rows.parquet')}' WHERE replicate = 3 AND setting = 'block-weighting blockLength=4'`,
    );
    const [row] = rows;
    const set = [
      'session.durationS=4',
      'converter.sampleRateHz=2000',
      'filter.lowPassHz=900',
      'muscle.burstsPerS=1',
      `muscle.durationS=${row['muscle.durationS']}`,
      `muscle.burstUv=${row['muscle.burstUv']}`,
      `eeg.state=${row['eeg.state']}`,
      'averaging.blockWeighting.blockLength=4',
    ].flatMap((assignment) => ['--set', assignment]);
    const race = sweepwise(['race', 'jaw-clencher', '--seed', String(row.seed), '--replicates', '1', '--json', ...set]);
    const result = JSON.parse(race.stdout);
    expect(row.residualNoiseNv).toBe(
      result.lanes.find((lane: { strategy: string }) => lane.strategy === 'block-weighting').residualNoiseNv,
    );
    // The race names the lane's tunables in the scenario; the study leaves the scenario as it was.
    expect(row.ownNoiseNv).toBe(
      result.lanes.find((lane: { strategy: string }) => lane.strategy === 'block-weighting').ownNoiseNv,
    );
  });
});

describe('the summary', () => {
  it('has each cell and each paired comparison, with intervals', async () => {
    const rows = await ask(`SELECT * FROM '${join(out, 'summary.csv')}'`);
    expect(rows.filter(({ kind }) => kind === 'cell').length).toBe(2 * 3 * 4);
    const paired = rows.filter(({ kind, measure }) => kind === 'paired' && measure === 'residualNoiseNv');
    expect(paired.map(({ condition }) => condition).sort()).toEqual([
      'all',
      'all',
      ...['clencher muscle.durationS=0.1', 'clencher muscle.durationS=0.1'],
      ...['clencher muscle.durationS=0.4', 'clencher muscle.durationS=0.4'],
    ]);
    for (const row of paired) expect(Number(row.low)).toBeLessThanOrEqual(Number(row.value));
  });
});
