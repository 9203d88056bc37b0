import { describe, expect, it } from 'vitest';
import { averagingStrategies } from '../../src/core/averaging/index.ts';
import { STANDARD_LANES } from '../../src/core/session/lanes.ts';
import { sweepwise } from './sweepwise.ts';

const quick = ['race', 'jaw-clencher', '--seconds', '5', '--replicates', '1'];
const lane = (text: string) => ['--lane', text];

describe('sweepwise race --lane', () => {
  it('races any strategies, the same one twice, each with its tunables and its name', () => {
    const words = [
      ...quick,
      '--json',
      ...lane('block-weighting blockLength=8 as short blocks'),
      ...lane('block-weighting'),
      ...lane('sorted-averaging flagAware=true'),
    ];
    const { lanes, oracle } = JSON.parse(sweepwise(words).stdout);
    expect(lanes.map(({ strategy, name }: Record<string, string>) => [strategy, name])).toEqual([
      ['block-weighting', 'short blocks'],
      ['block-weighting', 'Bayesian blocks'],
      ['sorted-averaging', 'Sorted by quietness'],
    ]);
    expect(lanes[0].parameters).toMatchObject({ blockLength: 8, varianceFloorUv2: 0 });
    expect(lanes[1].parameters.blockLength).toBe(32);
    expect(lanes[0].residualNoiseNv).not.toBe(lanes[1].residualNoiseNv);
    expect(lanes.map(({ timing, flagAware }: Record<string, string>) => [timing, flagAware])).toEqual([
      ['delayed', false],
      ['delayed', false],
      ['hindsight', true],
    ]);
    expect(oracle.expectedResidualNoiseNv).toBeGreaterThan(0);
    for (const { noiseOverOracle, expectedResidualNoiseNv } of lanes) {
      expect(noiseOverOracle * oracle.expectedResidualNoiseNv).toBeCloseTo(expectedResidualNoiseNv, 9);
    }
  });

  it('takes the lanes of the scenario where none are given, and the standard four where it has none', () => {
    const set = ['--set', 'lanes=[{"strategy":"median-average","name":"middle"}]'];
    const { lanes } = JSON.parse(sweepwise([...quick, ...set, '--json']).stdout);
    expect(lanes.map(({ name }: { name: string }) => name)).toEqual(['middle']);
    const standard = JSON.parse(sweepwise([...quick, '--json']).stdout).lanes;
    expect(standard.map(({ strategy }: { strategy: string }) => strategy)).toEqual(STANDARD_LANES);
  });

  it('ranks them in a table, with regret and honesty, the oracle last and without a rank', () => {
    const text = sweepwise([
      ...quick,
      '--target-nv',
      '400',
      ...lane('plain-mean'),
      ...lane('template-weighting'),
    ]).stdout;
    const table = text.split('\n\n')[1].split('\n');
    expect(table[0]).toMatch(/s to 400 nV.*regret s.*honesty.*gain/);
    const times = table.slice(1, 3).map((row) => Number(/^\d+\.\s+.*?\s(\d+\.\d|never)\s/.exec(row)?.[1]));
    expect(times[0]).toBeLessThanOrEqual(Number.isNaN(times[1]) ? Infinity : times[1]);
    expect(table[1]).toMatch(/^1\. +Left-over power/);
    expect(table.at(-1)).toMatch(/^ +oracle: knows the noise/);
  });

  it('shows what each gains on the plain mean, and marks it hollow where the response has changed', () => {
    const words = [...quick, '--target-nv', '2000', ...lane('plain-mean'), ...lane('self-weighting')];
    const text = sweepwise(words).stdout;
    expect(text).toMatch(/dB better {2}× faster/);
    expect(text).toMatch(/^\d\. +Own power \(for teaching\) .* \d+\.\d ◇ +\d+\.\d\d ◇ +0\.\d\d\d /m);
    expect(text).not.toMatch(/^\d\. +Plain mean .*◇/m); // it has no lead on itself
    expect(text).toContain('◇ hollow: the gain is outside 0.95–1.05');
    const { lanes } = JSON.parse(sweepwise([...words, '--json']).stdout);
    expect(lanes[1].amplitudeGain).toBeLessThan(0.95);
    expect(lanes[1].hollow).toBe(true);
    const [header, ...rows] = sweepwise([...words, '--csv'])
      .stdout.trim()
      .split('\n');
    expect(header).toMatch(/,quieterThanPlainDb,timesFasterThanPlain,hollow,noiseOnlyNv,biasNv$/);
    expect(rows[1]).toMatch(/,true,[\d.]*,[\d.]*$/);
  });

  it('says why each strategy weighted a sweep as it did', () => {
    const words = [...quick, ...lane('plain-mean'), ...lane('trimmed-mean'), '--explain', '20'];
    const { stdout } = sweepwise(words);
    expect(stdout).toMatch(/Sweep 20, at 0\.7\d s, condensation: true noise \d+\.\d\d µV rms/);
    expect(stdout).toMatch(/^Plain mean +1\.00 {2}Counted like every other sweep/m);
    expect(stdout).toMatch(/^Trimmed mean +\d\.\d\d {2}Counted at \d+ % of its samples/m);
    const { explanation } = JSON.parse(sweepwise([...words, '--json']).stdout);
    expect(explanation).toMatchObject({ index: 20, polarity: 1, overRange: false });
    expect(explanation.lanes[0]).toMatchObject({ name: 'Plain mean', share: 1 });
  });

  it.each([
    [['--lane', 'nobody'], '--lane: must begin with one of plain-mean, threshold-rejection'],
    [['--lane', 'kalman q=1'], '--lane kalman: unknown tunable of kalman; known here: processNoiseUv2'],
    [
      ['--lane', 'block-weighting blockLength=1'],
      '--lane block-weighting.blockLength: must be a whole number from 2 to 4096 sweeps, got 1',
    ],
    [['--lane', 'block-weighting blockLength=many'], 'got NaN'],
    [['--lane', 'kalman __proto__=1'], '--lane kalman: unknown tunable of kalman; known here: processNoiseUv2'],
    [
      ['--lane', 'block-weighting blockLength=8 blockLength=16'],
      '--lane block-weighting: blockLength must be given once, got "blockLength=16" as well',
    ],
    [['--lane', 'kalman flagAware=true flagAware=false'], '--lane kalman: flagAware must be given once'],
    [['--lane', 'block-weighting blockLength'], '--lane: tunables must be key=value, got "blockLength"'],
    [['--lane', 'kalman as one', '--lane', 'plain-mean as one'], '--lane: names must differ, got "one" twice'],
    [['--lane', 'kalman', '--lane', 'kalman'], 'must differ in strategy, tunables or name, got "kalman" twice'],
    [['--lane', 'plain-mean flagAware=perhaps'], '--lane: flagAware must be true or false, got "perhaps"'],
    [['--explain', '999999'], '--explain: must be a whole number from 0 to'],
    [['--set', 'lanes=[{"strategy":"x"}]'], 'lanes.0.strategy: must be plain-mean or threshold-rejection'],
    [['--set', 'lanes=[{"strategy":"kalman","parameters":{"q":1}}]'], 'lanes.0.parameters: unknown tunable of kalman'],
  ])('refuses %j in one line', (words, message) => {
    const { status, stdout, stderr } = sweepwise([...quick, ...words]);
    expect([status, stdout]).toEqual([1, '']);
    expect(stderr.trimEnd().split('\n')).toHaveLength(1);
    expect(stderr).toContain(message);
  });
});

describe('sweepwise strategies', () => {
  it('lists every strategy with its timing and each tunable with default, bounds, unit and effect', () => {
    const { stdout } = sweepwise(['strategies']);
    for (const { id, label } of averagingStrategies) expect(stdout).toContain(`${id}: ${label}.`);
    expect(stdout).toMatch(/blockLength +32 +2 … 4096 +sweeps +sweeps per block/);
    const list = JSON.parse(sweepwise(['strategies', '--json']).stdout);
    expect(list.map(({ id }: { id: string }) => id)).toEqual(averagingStrategies.map(({ id }) => id));
    expect(list[2].tunables[0]).toEqual({
      ...{ key: 'blockLength', default: 32, minimum: 2, maximum: 4096, unit: 'sweeps' },
      meaning: 'sweeps per block; a block gets one common weight',
    });
    expect(sweepwise(['strategies', 'nobody']).stderr).toContain('strategies: must be one of plain-mean');
  });
});
