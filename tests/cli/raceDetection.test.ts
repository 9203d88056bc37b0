import { describe, expect, it } from 'vitest';
import { sweepwise } from './sweepwise.ts';

const words = ['race', 'quiet-sleeper', '--seconds', '15', '--replicates', '4', '--lane', 'plain-mean', '--detection'];

describe('sweepwise race --detection', () => {
  it('counts verdicts below and above the true threshold', () => {
    const { detection } = JSON.parse(sweepwise([...words, '--json']).stdout);
    expect(detection.thresholdDbNhl).toBeGreaterThan(0);
    expect(detection.thresholdDbNhl).toBeLessThan(10); // nobody with normal ears hears later
    const [{ rows, falsePresent, falseAbsent, cannotTell }] = detection.lanes;
    expect(rows.map((row: { aboveThresholdDb: number }) => row.aboveThresholdDb)).toEqual([
      -10, 0, 10, 20, 30, 40, 60, 80,
    ]);
    for (const row of rows) expect(row.presentCount + row.absentCount + row.cannotTellCount).toBe(4);
    const [below, loud] = [rows[0], rows[7]];
    expect(loud.presentCount).toBeGreaterThan(below.presentCount);
    const { bracketDbNhl, logisticDbNhl, latency } = detection.lanes[0];
    expect(bracketDbNhl).toBeNull(); // too noisy after 15 s to call anything absent, so the bracket is open
    expect(logisticDbNhl).toBeGreaterThan(-10);
    expect(logisticDbNhl).toBeLessThan(40);
    expect(latency.slopes).toHaveLength(2);
    const chances: number[] = Object.values(latency.patterns);
    expect(chances.reduce((sum, chance) => sum + chance, 0)).toBeCloseTo(1, 9);
    expect(latency.patterns.normal).toBe(Math.max(...chances));
    expect([falsePresent, falseAbsent, cannotTell].every((share) => share >= 0 && share <= 1)).toBe(true);
  });

  it('prints the matrix, and has a row of CSV for each level', () => {
    expect(sweepwise(words).stdout).toMatch(/^Plain mean( +\d\/\d\/\d){8}( +\d+ %){3}$/m);
    const [header, ...rows] = sweepwise([...words, '--csv'])
      .stdout.trimEnd()
      .split('\n');
    expect(rows).toHaveLength(8);
    for (const row of rows) expect(row.split(',')).toHaveLength(header.split(',').length);
  });

  it('refuses an ear that answers to nothing, in one sentence', () => {
    const { status, stderr } = sweepwise([...words, '--set', 'response.kind=none']);
    expect([status, stderr.trimEnd().split('\n').length]).toEqual([1, 1]);
    expect(stderr).toContain('the patient must respond at 100 dB nHL, got silence');
  });
});
