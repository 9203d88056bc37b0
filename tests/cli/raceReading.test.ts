import { describe, expect, it } from 'vitest';
import { sweepwise } from './sweepwise.ts';

const quick = ['race', 'quiet-sleeper', '--seconds', '30', '--replicates', '1', '--read', '--lane', 'plain-mean'];
const silent = ['--set', 'response.kind=none'];

describe('sweepwise race --read', () => {
  it('keeps its JSON contract, key by key', () => {
    const { reading } = JSON.parse(sweepwise([...quick, '--json']).stdout);
    expect(Object.keys(reading)).toEqual(['rectifiedUv', 'truth', 'lanes']);
    expect(reading.truth.peaks.map(({ name }: { name: string }) => name)).toEqual(['I', 'III', 'V']);
    const [lane] = reading.lanes;
    expect(Object.keys(lane)).toEqual(['strategy', 'detection', 'shapeCorrelation', 'peaks', 'figures', 'errors']);
    expect(Object.keys(lane.detection)).toEqual([
      ...['turned', 'fsp', 'fspP', 'fmp', 'fmpP', 'fmpBootstrapP', 'splitCorrelation', 'splitP'],
      ...['fallOverGap', 'fallP', 'hotellingP'],
    ]);
    expect(Object.keys(lane.peaks[0])).toEqual([
      ...['name', 'latencyMs', 'latencySdMs', 'amplitudeUv', 'amplitudeSdUv', 'toTroughUv', 'toTroughSdUv', 'troughMs'],
      'clear',
    ]);
    expect(Object.keys(lane.figures[0])).toEqual(['name', 'unit', 'value', 'sd', 'low', 'high', 'meaningful']);
    expect(Object.keys(lane.errors[0])).toEqual([
      ...['name', 'latencyErrorMs', 'amplitudeErrorUv', 'toTroughErrorUv', 'toTroughGain'],
    ]);
    const waveV = (peaks: { name: string; latencyMs: number }[]) => peaks.find(({ name }) => name === 'V')?.latencyMs;
    const error = lane.errors.find(({ name }: { name: string }) => name === 'V').latencyErrorMs;
    expect(error).toBeCloseTo((waveV(lane.peaks) ?? NaN) - (waveV(reading.truth.peaks) ?? NaN), 10);
  });

  it('prints tests, peaks and figures as tables, and says what they mean', () => {
    const { status, stdout, stderr } = sweepwise(quick);
    expect([status, stderr]).toEqual([0, '']);
    expect(stdout).toMatch(/strategy +Fsp +p +Fmp +p +boot p +split r +p +3:1 +p +p of T² +turned\nPlain mean/);
    expect(stdout).toMatch(/strategy +peak +ms +± +off by/);
    expect(stdout).toMatch(/I–V +(\d\.\d\d ms|means nothing)/);
    expect(stdout).toContain('the mean response of all sweeps presented, read by the same rules');
  });

  it('says how signs were turned for a lane whose weights depend on its own average', () => {
    const words = ['race', 'quiet-sleeper', '--seconds', '8', '--replicates', '1', '--read', '--lane', 'kalman'];
    expect(sweepwise(words).stdout).toMatch(/^Kalman-style +\d+\.\d\d +0\.\d{3} .* sweeps$/m);
    const { lanes } = JSON.parse(sweepwise([...words, '--json']).stdout).reading;
    expect(lanes[0].detection.turned).toBe('sweeps');
    expect(lanes[0].detection.fmpP).toBeGreaterThan(0);
  });

  it.each([
    ['cvemp', 'p13–n23 / activity'],
    ['steady-state', 'delay within a cycle'],
  ])('reads %s: %s', (kind, figure) => {
    const seconds = kind === 'cortical' || kind === 'steady-state' ? '60' : '20';
    const words = [
      'race',
      'quiet-sleeper',
      '--set',
      `response.kind=${kind}`,
      '--seconds',
      seconds,
      '--replicates',
      '1',
    ];
    expect(sweepwise([...words, '--read', '--lane', 'plain-mean']).stdout).toContain(figure);
  });

  it('has no truth to compare with in a silent ear, and finds no response there', () => {
    const { reading } = JSON.parse(sweepwise([...quick, ...silent, '--json']).stdout);
    expect(reading.truth.peaks).toEqual([]);
    expect(reading.lanes[0].errors).toEqual([]);
    expect(reading.lanes[0].detection.fmpP).toBeGreaterThan(0.01);
    expect(reading.lanes[0].shapeCorrelation).toBeNull();
  });

  it('gives the same bytes twice, as CSV with provenance and truth in every row too', () => {
    const csv = sweepwise([...quick, '--csv']).stdout;
    expect(sweepwise([...quick, '--csv']).stdout).toBe(csv);
    const [header, ...rows] = csv.trimEnd().split('\n');
    expect(header).toBe(
      'version,scenario,hash,seed,replicates,targetNv,seconds,strategy,item,unit,value,sd,low,high,truth',
    );
    expect(rows.map((row) => row.split(',')[8])).toContain('V latency');
    for (const row of rows) expect(row.split(',')).toHaveLength(15);
  });

  it('refuses two tables at once', () => {
    const { status, stderr } = sweepwise([...quick, '--csv', '--curve']);
    expect(status).toBe(1);
    expect(stderr).toContain(
      '--csv takes one of --curve, --ledger, --read, --quality, --breakdown, --detection, got --curve and --read',
    );
  });
});
