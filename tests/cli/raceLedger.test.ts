import { describe, expect, it } from 'vitest';
import { noiseSources } from '../../src/core/noise/index.ts';
import { sweepwise } from './sweepwise.ts';

const quick = ['race', 'jaw-clencher', '--seconds', '8', '--replicates', '1', '--seed', '3'];

interface Ledger {
  strategy: string;
  totalNv: number;
  sumNv: number;
  crossTermsNv2: number;
  exact: boolean;
  rows: { id: string; label: string; rmsNv: number }[];
  productsNv2: number[][];
}

describe('sweepwise race --ledger', () => {
  const report = JSON.parse(sweepwise([...quick, '--ledger', '--json']).stdout);
  const ledgers: Ledger[] = report.ledger;

  it('adds one key to the JSON and leaves the rest as it was', () => {
    const { ledger, ...rest } = report;
    expect(ledger).toHaveLength(report.lanes.length);
    expect(JSON.parse(sweepwise([...quick, '--json']).stdout)).toEqual(rest);
  });

  it('takes the error of each lane apart, and the parts add up to it', () => {
    for (const [k, ledger] of ledgers.entries()) {
      expect(Object.keys(ledger)).toEqual([
        ...['strategy', 'totalNv', 'sumNv', 'crossTermsNv2', 'exact', 'rows', 'productsNv2'],
      ]);
      expect(ledger.strategy).toBe(report.lanes[k].strategy);
      expect(ledger.totalNv / report.lanes[k].residualNoiseNv).toBeCloseTo(1, 9);
      expect(ledger.sumNv / ledger.totalNv).toBeCloseTo(1, 9);
      const own = ledger.rows.reduce((sum, { rmsNv }) => sum + rmsNv * rmsNv, 0);
      expect((own + ledger.crossTermsNv2) / ledger.totalNv ** 2).toBeCloseTo(1, 9);
    }
    const ids = ledgers[0].rows.map(({ id }) => id);
    expect(ids[0]).toBe('response');
    expect(ids.at(-1)).toBe('remainder');
    expect(noiseSources.map(({ id }) => id)).toEqual(expect.arrayContaining(ids.slice(1, -1)));
    expect(ids).toContain('muscle');
  });

  it('prints a row for each source and a column for each strategy', () => {
    const { stdout } = sweepwise([...quick, '--ledger']);
    for (const { label, id } of ledgers[0].rows) expect(stdout).toContain(label === id ? label : `${label} (${id})`);
    const line = (start: string) => stdout.split('\n').find((text) => text.startsWith(start)) ?? '';
    expect(line('all of these together').match(/[\d.]+/g)).toEqual(line('actual error').match(/[\d.]+/g));
    expect(line('rows are')).toContain('exact');
  });

  it('writes CSV with provenance, one line for each part', () => {
    const [header, ...rows] = sweepwise([...quick, '--ledger', '--csv'])
      .stdout.trimEnd()
      .split('\n')
      .map((line) => line.split(','));
    expect(header.slice(-5)).toEqual(['strategy', 'kind', 'part', 'rmsNv', 'powerNv2']);
    expect(rows).toHaveLength(ledgers.length * (ledgers[0].rows.length + 3));
    const muscle = rows.find((row) => row.at(-3) === 'muscle') ?? [];
    expect(Number(muscle.at(-2))).toBe(ledgers[0].rows.find(({ id }) => id === 'muscle')?.rmsNv);
    expect(sweepwise([...quick, '--ledger', '--csv', '--curve']).stderr).toContain(
      '--csv takes one of --curve, --ledger',
    );
  });
});

describe('sweepwise race --mute', () => {
  const run = (...words: string[]) => JSON.parse(sweepwise([...quick, '--ledger', '--json', ...words]).stdout);
  const row = (report: { ledger: Ledger[] }, id: string) => report.ledger[0].rows.find((entry) => entry.id === id);

  it('runs without a source; in the plain mean all other rows stay as they were', () => {
    const [all, muted] = [run(), run('--mute', 'muscle')];
    expect(row(muted, 'muscle')).toBeUndefined();
    for (const id of ['eeg', 'mains', 'drift', 'amplifier']) expect(row(muted, id)).toEqual(row(all, id));
    expect(muted.lanes[0].residualNoiseNv).toBeLessThan(0.6 * all.lanes[0].residualNoiseNv);
    expect(run('--set', 'session.mute=[muscle]')).toEqual(muted);
  });

  it('takes several, on top of those of the scenario, and refuses a ghost', () => {
    const both = run('--mute', 'muscle,eeg', '--mute', 'mains', '--set', 'session.mute=[drift]');
    expect(both.ledger[0].rows.map(({ id }: { id: string }) => id)).toEqual(['response', 'amplifier', 'remainder']);
    const { status, stderr } = sweepwise([...quick, '--mute', 'ghost']);
    expect(status).toBe(1);
    expect(stderr).toContain('session.mute.0: must be eeg or muscle or');
  });
});
