import { describe, expect, it } from 'vitest';
import { sweepwise } from './sweepwise.ts';

const quick = ['race', 'jaw-clencher', '--seconds', '12', '--replicates', '1'];
const lanes = ['--lane', 'plain-mean', '--lane', 'kalman'];

describe('sweepwise race --quality', () => {
  it('keeps its JSON contract, and knows who tells good sweeps from bad', () => {
    const { quality, plusMinusOfPlainMean } = JSON.parse(sweepwise([...quick, ...lanes, '--quality', '--json']).stdout);
    const [plain, kalman] = quality;
    expect(Object.keys(plain)).toEqual([
      ...['strategy', 'plusMinusNv', 'residualNoiseNv', 'noiseOnlyNv', 'biasNv', 'ownNoiseNv', 'expected'],
      ...['honesty', 'neighbours', 'trueSnrDb', 'estimatedSnr', 'weights', 'stops', 'looks'],
    ]);
    expect(plusMinusOfPlainMean.byPairsNv).toBeCloseTo(plain.plusMinusNv, 6); // its own buffers are alternate pairs
    expect(plusMinusOfPlainMean.bySweepsNv).toBeGreaterThan(0);
    expect(plain.biasNv).toBeLessThan(1e-9); // equal weights change nothing
    expect(plain.noiseOnlyNv).toBeCloseTo(plain.residualNoiseNv, 9);
    expect(kalman.biasNv).toBeGreaterThan(0);
    expect(plain.honesty.expected).toBeCloseTo(plain.ownNoiseNv / plain.residualNoiseNv, 9);
    expect(plain.expected).toEqual({ totalNv: plain.residualNoiseNv, noiseOnlyNv: null, biasNv: null }); // one replicate
    expect(plain.weights).toMatchObject({ falseReject: 0, falseAccept: 1, rank: null, area: 0.5 });
    expect(kalman.weights.area).toBeGreaterThan(0.9);
    expect(kalman.weights.rank).toBeGreaterThan(0.8);
    expect(kalman.trueSnrDb).toBeGreaterThan(plain.trueSnrDb);
    expect(plain.plusMinusNv / plain.ownNoiseNv).toBeGreaterThan(0.5); // two estimates of the same noise
    expect(plain.plusMinusNv / plain.ownNoiseNv).toBeLessThan(2);
    expect(plain.stops.map(({ rule }: { rule: string }) => rule)).toEqual([
      ...['fixed-count', 'noise-target', 'snr-or-floor', 'futility'],
    ]);
    expect(plain.looks.count).toBe(10);
    expect(plain.looks.falseAlarms).toBeGreaterThan(0.1); // 5 % each
    expect(kalman.looks).toBeNull();
  });

  it('finds a response at an early look, stops there, and says nothing of the sort in a silent ear', () => {
    const words = ['race', 'quiet-sleeper', '--seconds', '30', '--replicates', '1', '--lane', 'plain-mean'];
    const loud = ['--set', 'response.amplitudeScale=4', '--set', 'session.targetNv=200'];
    const [found] = JSON.parse(sweepwise([...words, ...loud, '--quality', '--json']).stdout).quality;
    expect(found.looks.presentAt).toBeLessThan(6);
    expect(found.stops[1].seconds).toBeLessThan(30);
    expect(found.stops[2]).toMatchObject({ verdict: 'present' });
    const [silent] = JSON.parse(
      sweepwise([...words, '--set', 'response.kind=none', '--quality', '--json']).stdout,
    ).quality;
    expect(silent.looks.presentAt).toBeNull();
    expect(silent.trueSnrDb).toBeNull();
  });

  it('lights the lamp where neighbours are alike', () => {
    const drifting = [
      '--set',
      'mains.fundamentalUv=40',
      '--set',
      'stimulus.ratePerS=25.05',
      '--set',
      'mains.wanderHz=0',
    ];
    const { stdout } = sweepwise([
      'race',
      'quiet-sleeper',
      '--seconds',
      '20',
      '--replicates',
      '1',
      ...lanes,
      ...drifting,
      '--quality',
    ]);
    expect(stdout).toMatch(/^Plain mean( +\d+\.\d){3} +\d+\.\d\d !/m);
    expect(stdout).toMatch(/^Kalman-style .*not valid$/m);
    expect(stdout).toContain('10 looks: false alarms of ten looks at 5 % each');
  });
});

describe('sweepwise race --breakdown', () => {
  it('prints noise and gain at every level, and where each lane breaks down', () => {
    const words = [...quick, ...lanes, '--breakdown', 'burst-size'];
    const { stdout } = sweepwise(words);
    expect(stdout).toContain('Breakdown: size of the bursts, µV rms; noise in nV rms, gain');
    expect(stdout).toMatch(/^level +Plain mean +gain +Kalman-style +gain$/m);
    expect(stdout).toMatch(/^200 +\d+\.\d +-?\d+\.\d\d +\d+\.\d +\d\.\d\d$/m);
    expect(stdout).toMatch(/^Plain mean: cannot tell where it breaks down; use --replicates 3 or more\.$/m);
    const { breakdown } = JSON.parse(sweepwise([...words.map((word) => (word === '1' ? '3' : word)), '--json']).stdout);
    expect(breakdown.axis).toBe('burst-size');
    expect(breakdown.lanes[0].cause).toMatch(/^(noise|gain)$/);
    expect(breakdown.lanes[0].level).toBeGreaterThan(0);
    const noise = breakdown.lanes[0].points.map(({ noiseNv }: { noiseNv: number }) => noiseNv);
    expect(noise.at(-1)).toBeGreaterThan(5 * noise[0]);
  });

  it('has both tables as CSV, with provenance in every row', () => {
    const table = (words: string[]) => {
      const [header, ...rows] = sweepwise([...quick, ...lanes, ...words, '--csv'])
        .stdout.trimEnd()
        .split('\n');
      return { header: header.split(','), rows: rows.map((row) => row.split(',')) };
    };
    const quality = table(['--quality']);
    expect(quality.header.slice(7, 10)).toEqual(['strategy', 'name', 'residualNoiseNv']);
    expect(quality.rows).toHaveLength(2);
    const broken = table(['--breakdown', 'burst-size']);
    expect(broken.header.slice(7)).toEqual([
      ...[
        'axis',
        'unit',
        'strategy',
        'name',
        'level',
        'noiseNv',
        'gain',
        'gainLow',
        'gainHigh',
        'breaksDownAt',
        'cause',
      ],
    ]);
    expect(broken.rows).toHaveLength(2 * 8);
    for (const { header, rows } of [quality, broken]) for (const row of rows) expect(row).toHaveLength(header.length);
  });

  it.each([
    [['--breakdown', 'age'], '--breakdown: must be one of contaminated-share, burst-size, '],
    [
      ['--quality', '--breakdown', 'burst-size', '--csv'],
      '--csv takes one of --curve, --ledger, --read, --quality, --breakdown, --detection, got --quality and --breakdown',
    ],
  ])('refuses %j', (words, message) => {
    const { status, stderr } = sweepwise([...quick, ...words]);
    expect(status).toBe(1);
    expect(stderr).toContain(message);
  });
});
