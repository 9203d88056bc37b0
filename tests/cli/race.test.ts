import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { averagingStrategy } from '../../src/core/averaging/index.ts';
import { actions } from '../../src/core/scenario/actions.ts';
import { presetGroups, presets } from '../../src/core/scenario/presets.ts';
import { STANDARD_LANES } from '../../src/core/session/lanes.ts';
import { sweepwise } from './sweepwise.ts';

const quick = ['race', 'jaw-clencher', '--seconds', '6', '--replicates', '3'];

describe('sweepwise race', () => {
  let folder: string;
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'sweepwise-cli-'));
  });
  afterAll(() => rmSync(folder, { recursive: true }));
  const file = (name: string, text: string) => {
    const path = join(folder, name);
    writeFileSync(path, text);
    return path;
  };

  it('prints one table that names the strategies, and nothing on standard error when piped', () => {
    const { status, stdout, stderr } = sweepwise(quick);
    expect(status).toBe(0);
    expect(stderr).toBe('');
    for (const id of STANDARD_LANES) expect(stdout).toContain(averagingStrategy(id).label);
    expect(stdout).toContain('not for clinical decisions');
  });

  it('says on standard error what is unusual, one line each, and runs all the same', () => {
    const odd = ['--set', 'filter.lowPassHz=7000', '--set', 'stimulus.ratePerS=25', '--json'];
    const { status, stdout, stderr } = sweepwise([...quick, ...odd]);
    expect(status).toBe(0);
    expect(stderr.trimEnd().split('\n')).toEqual([
      'unusual: stimulus.ratePerS: should not divide mains.lineHz (50 Hz): the hum would stay, got 25',
      'unusual: filter.lowPassHz: is near half of converter.sampleRateHz: usual up to 6400 Hz, got 7000',
    ]);
    expect(JSON.parse(stdout).lanes).toHaveLength(4);
  });

  it('keeps its JSON contract, key by key', () => {
    const { status, stdout } = sweepwise([...quick, '--json', '--seed', '5', '--target-nv', '150']);
    expect(status).toBe(0);
    const report = JSON.parse(stdout);
    expect(Object.keys(report)).toEqual([
      'version',
      'scenario',
      'seed',
      'replicates',
      'targetNv',
      'seconds',
      'lanes',
      'oracle',
      'cautions',
    ]);
    expect(report).toMatchObject({
      version: expect.stringMatching(/^\d+\.\d+\.\d+/),
      scenario: { id: 'jaw-clencher', hash: expect.stringMatching(/^[0-9a-f]{12}$/) },
      seed: '5',
      replicates: 3,
      targetNv: 150,
      seconds: 6,
    });
    expect(report.lanes.map((lane: { strategy: string }) => lane.strategy)).toEqual([
      'plain-mean',
      'threshold-rejection',
      'block-weighting',
      'kalman',
    ]);
    for (const lane of report.lanes) {
      expect(Object.keys(lane)).toEqual([
        'strategy',
        'parameters',
        'secondsToTarget',
        'sweepsToTarget',
        'expectedResidualNoiseNv',
        'residualNoiseNv',
        'ownNoiseNv',
        'amplitudeGain',
        'splitCorrelation',
        'sweepsOffered',
        'sweepsUsed',
        'effectiveSweeps',
        ...['name', 'timing', 'flagAware', 'honesty', 'regretSeconds', 'noiseOverOracle'],
        ...['verdicts', 'quieterThanPlainDb', 'timesFasterThanPlain', 'hollow', 'noiseOnlyNv', 'biasNv'],
      ]);
      expect(lane.sweepsOffered).toBe(Math.floor(6 * 27.7));
      for (const key of ['expectedResidualNoiseNv', 'residualNoiseNv', 'ownNoiseNv', 'amplitudeGain'] as const) {
        expect(lane[key]).toEqual(expect.any(Number));
      }
    }
  });

  it('writes null for never, and for what cannot be told', () => {
    const { stdout } = sweepwise(['race', 'silent-ear', '--seconds', '3', '--replicates', '1', '--json']);
    const [plain] = JSON.parse(stdout).lanes;
    expect(plain.secondsToTarget).toBeNull();
    expect(plain.sweepsToTarget).toBeNull();
    expect(plain.amplitudeGain).toBeNull();
  });

  it('gives the same bytes twice, and other numbers for another seed', () => {
    const first = sweepwise([...quick, '--json', '--curve']).stdout;
    expect(sweepwise([...quick, '--json', '--curve']).stdout).toBe(first);
    expect(sweepwise([...quick, '--json', '--curve', '--seed', '2']).stdout).not.toBe(first);
  });

  it('adds curves that end at the final noise', () => {
    const { lanes } = JSON.parse(sweepwise([...quick, '--json', '--curve']).stdout);
    for (const { curve, expectedResidualNoiseNv } of lanes) {
      const seconds = curve.map(([second]: [number, number]) => second);
      expect(seconds).toEqual([...seconds].sort((a, b) => a - b));
      expect(curve.at(-1)[1]).toBe(expectedResidualNoiseNv);
    }
  });

  it('agrees with itself as CSV, with provenance and intervals in every row', () => {
    const { lanes, scenario } = JSON.parse(sweepwise([...quick, '--json']).stdout);
    const [header, ...rows] = sweepwise([...quick, '--csv'])
      .stdout.trimEnd()
      .split('\n');
    const column = (name: string) => header.split(',').indexOf(name);
    expect(rows).toHaveLength(4);
    for (const [k, row] of rows.entries()) {
      expect(row).toContain(scenario.hash);
      const cells = row.match(/("([^"]|"")*"|[^,]*)(,|$)/g)?.map((cell) => cell.replace(/,$/, '')) ?? [];
      expect(Number(cells[column('expectedResidualNoiseNv')])).toBe(lanes[k].expectedResidualNoiseNv);
      expect(Number(cells[column('expectedResidualNoiseLowNv')])).toBeLessThanOrEqual(lanes[k].expectedResidualNoiseNv);
      expect(Number(cells[column('expectedResidualNoiseHighNv')])).toBeGreaterThanOrEqual(
        lanes[k].expectedResidualNoiseNv,
      );
    }
  });

  it('reads a scenario file, YAML or JSON, and standard input, all the same', () => {
    const yaml = 'id: mine\nstimulus:\n  ratePerS: 31\nsession: { durationS: 4 }\n';
    const json = '{"id":"mine","stimulus":{"ratePerS":31},"session":{"durationS":4}}';
    const options = ['--replicates', '1', '--json'];
    const fromYaml = sweepwise(['race', file('mine.yaml', yaml), ...options]);
    expect(fromYaml.status).toBe(0);
    expect(sweepwise(['race', file('mine.json', json), ...options]).stdout).toBe(fromYaml.stdout);
    expect(sweepwise(['race', '-', ...options], yaml).stdout).toBe(fromYaml.stdout);
    const set = ['--set', 'stimulus.ratePerS=31', '--set', 'id=mine', '--set', 'session.durationS=4'];
    expect(sweepwise(['race', file('empty.yaml', '{}'), ...set, ...options]).stdout).toBe(fromYaml.stdout);
  });

  const bad: [string[], string, string][] = [
    // words, what the one line must say, why
    [['race', 'nobody'], 'unknown scenario "nobody"; one of quiet-sleeper', 'names the choices'],
    [['race', './missing.yaml'], './missing.yaml: cannot be read (ENOENT)', 'names the file'],
    [
      ['race', '--set', 'stimulus.ratePerS=0'],
      'stimulus.ratePerS: must be a number from 0.05 to 100 1/s',
      'path and rule',
    ],
    [['race', '--set', 'stimulus.ratePerS=0'], 'got 0', 'value'],
    [['race', '--set', 'stimulus.rate=3'], 'stimulus.rate: unknown key; known here: levelDbNhl', 'unknown key'],
    [['race', '--set', 'nonsense'], 'override: must be path=value, got "nonsense"', 'no equals sign'],
    [['race', '--set', '__proto__.x=1'], '__proto__', 'no way into the prototype'],
    [['race', '--seconds', 'long'], '--seconds: must be a number from 1 to 7200, got "long"', 'not a number'],
    [['race', '--replicates', '1.5'], '--replicates: must be a whole number', 'not whole'],
    [['race', '--replicates', '0'], '--replicates: must be a whole number from 1 to 10000, got "0"', 'none'],
    [['race', '--target-nv', '-5'], '--target-nv: must be a number from 1 to 100000, got "-5"', 'negative'],
    [['race', '--frob'], "Unknown option '--frob'", 'unknown option'],
    [['race', '--seed'], "'--seed", 'missing value'],
    [['race', '--json', '--csv'], 'takes --json or --csv, got both', 'contradiction'],
    [['race', 'quiet-sleeper', 'jaw-clencher'], 'takes one scenario', 'two scenarios'],
    [['race', '--events', 'x=1'], '--events needs --recording', 'half of a recording'],
    [['race', '--set', 'filter.lowPassHz=9000'], 'filter.lowPassHz: must be below half', 'above Nyquist'],
    [
      ['race', '--set', 'filter.highPassHz=0.05', '--set', 'filter.highPassOrder=8'],
      'for order 8',
      'numerically hopeless',
    ],
    [['race', '--seed', '1', '--seed', '2'], '--seed: must be given once, got 1 and 2', 'twice'],
    [['scenarios', '--keys', '--json'], 'takes ID, --keys, --actions or --json', 'two lists at once'],
    [
      ['fly'],
      'unknown command "fly"; one of race, export, scenarios, strategies, lesson, drill, study',
      'unknown command',
    ],
    [['scenarios', 'nobody'], 'unknown scenario "nobody"', 'unknown patient'],
  ];
  it.each(bad)('refuses %j: one line, exit 1 (%s; %s)', (words, message) => {
    const { status, stdout, stderr } = sweepwise(words);
    expect(status).toBe(1);
    expect(stdout).toBe('');
    expect(stderr.trimEnd().split('\n')).toHaveLength(1);
    expect(stderr).toMatch(/^sweepwise: /);
    expect(stderr).toContain(message);
  });

  it.each([
    ['tabs.yaml', 'stimulus:\n\tratePerS: 3\n', 'line 2'],
    ['list.yaml', '- 1\n- 2\n', 'must hold a document of keys'],
    ['twice.yaml', 'id: a\nid: b\n', 'unique'],
    ['empty.yaml', '', 'must hold a document of keys'],
    ['nan.yaml', 'stimulus: { ratePerS: .nan }\n', 'stimulus.ratePerS: must be a number'],
    ['keys.yaml', '? [a, b]\n: 1\n', 'keys.yaml: With stringKeys'],
    ['text.yaml', 'stimulus: fast\n', 'stimulus: must be a group of keys, got "fast"'],
  ])('refuses the scenario file %s', (name, text, message) => {
    const { status, stderr } = sweepwise(['race', file(name, text)]);
    expect(status).toBe(1);
    expect(stderr.trimEnd().split('\n')).toHaveLength(1);
    expect(stderr).toContain(message);
  });
});

describe('sweepwise scenarios', () => {
  it('lists the patients in groups, and every key with unit and bounds', () => {
    const list = JSON.parse(sweepwise(['scenarios', '--json']).stdout);
    expect(list).toHaveLength(presets.length);
    expect(list[0]).toEqual({
      id: 'quiet-sleeper',
      hash: expect.stringMatching(/^[0-9a-f]{12}$/),
      title: 'Quiet sleeper',
      story: expect.any(String),
      group: 'To begin with',
      cautions: expect.arrayContaining([expect.stringContaining('no diagnosis')]),
    });
    const { stdout } = sweepwise(['scenarios']);
    for (const { title } of presetGroups) expect(stdout).toMatch(new RegExp(`^${title}$`, 'm'));
    for (const { id } of presets) expect(stdout).toMatch(new RegExp(`^  ${id} `, 'm'));
    expect(sweepwise(['scenarios', '--keys']).stdout).toMatch(/stimulus\.ratePerS +27\.7 +0\.05 … 100 +1\/s/);
  });

  it('says with a patient, a race and its table what harm a loud sound may do', () => {
    const loud = /97 dB nHL is loud/;
    expect(sweepwise(['scenarios', 'held-neck']).stdout).toMatch(loud);
    expect(sweepwise(['scenarios', '--json']).stdout).toMatch(loud);
    const short = ['race', 'held-neck', '--seconds', '3', '--replicates', '1'];
    expect(JSON.parse(sweepwise([...short, '--json']).stdout).cautions.join('\n')).toMatch(loud);
    const { stdout, stderr } = sweepwise([...short, '--csv']);
    expect(stderr).toMatch(/^caution: .*no diagnosis/m);
    expect(stderr).toMatch(loud);
    expect(stdout).not.toMatch(/caution|loud/);
  });

  it('lists every action with what it costs and how to write it', () => {
    const { stdout } = sweepwise(['scenarios', '--actions']);
    for (const { id, label } of actions) expect(stdout).toMatch(new RegExp(`^${id} +${label}`, 'm'));
    expect(stdout).toContain('Wait half a minute, costs 30 s');
    expect(stdout).toContain('events: [{ atS: 60, action: wait }]');
  });

  it('prints a patient as YAML that race takes back, with the same hash', () => {
    const { stdout } = sweepwise(['scenarios', 'restless-child']);
    const options = ['--seconds', '3', '--replicates', '1', '--json'];
    const direct = sweepwise(['race', 'restless-child', ...options]).stdout;
    expect(sweepwise(['race', '-', ...options], stdout).stdout).toBe(direct);
  });
});
