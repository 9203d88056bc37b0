import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { buildWfdb, buildWfdbAnnotations } from '../formats/buildWfdb.ts';
import { sweepwise } from './sweepwise.ts';

const data = fileURLToPath(new URL('../../../shared/data/', import.meta.url));
const run1 = ['race', '--recording', `${data}auditory-oddball/run-1.csv.gz`];
const cut = ['--window-ms', '-100,800', '--band-hz', '1,15'];

describe('sweepwise race --recording', () => {
  it('says what is known of a real recording, and that truth is not', () => {
    const { status, stdout } = sweepwise([...run1, '--events', 'Marker0=2', '--channel', 'TP9,TP10', ...cut]);
    expect(status).toBe(0);
    expect(stdout).toContain('Channel TP9');
    expect(stdout).toContain('Channel TP10');
    expect(stdout).toContain('The truth is not known here');
    expect(stdout).toContain('random windows');
  });

  it('gives one JSON object with own claims, agreement and random-window baseline, and no truth', () => {
    // Blocks of 8: half of the 50-odd sweeps of one run would not fill a block of 32.
    const blocks = ['--set', 'averaging.blockWeighting.blockLength=8'];
    const { stdout } = sweepwise([...run1, '--events', 'Marker0=2', '--channel', 'tp9', ...cut, ...blocks, '--json']);
    const report = JSON.parse(stdout);
    expect(report.truthKnown).toBe(false);
    expect(report.channels[0].channel).toBe('TP9');
    for (const lane of report.channels[0].lanes) {
      for (const key of ['ownNoiseNv', 'splitCorrelation', 'halvesCorrelation', 'averageNv', 'randomWindowNv']) {
        expect(lane[key], `${lane.strategy} ${key}`).toEqual(expect.any(Number));
      }
      expect(lane).not.toHaveProperty('amplitudeGain');
    }
  });

  it('pools the sweeps of several files', () => {
    const two = [...run1, '--recording', `${data}auditory-oddball/run-2.csv.gz`];
    const rest = ['--events', 'Marker0=2', '--channel', 'TP9', ...cut, '--json'];
    const offered = (words: string[]) => JSON.parse(sweepwise([...words, ...rest]).stdout).channels[0].sweepsOffered;
    const second = ['race', '--recording', `${data}auditory-oddball/run-2.csv.gz`];
    expect(offered(two)).toBe(offered(run1) + offered(second));
  });

  it('reads EDF+ annotations, BDF status codes, and a file that a strict reader refuses, with a warning', () => {
    const edf = sweepwise([
      ...['race', '--recording', `${data}eeg-edf/S001R01.edf`, '--events', 'annotation=T0', '--channel', 'Cz..'],
      ...['--window-ms', '0,500', '--band-hz', '1,40'],
    ]);
    expect(edf.stderr).toMatch(/^warning: S001R01\.edf: /m);
    // One resting annotation in the whole file: fewer than the eight sweeps that an average needs.
    expect(edf.status).toBe(1);
    expect(edf.stderr).toContain('at least 8 sweeps');
  });

  it('reads a WFDB record with the files beside its header', () => {
    const folder = mkdtempSync(join(tmpdir(), 'sweepwise-wfdb-'));
    const samples = Array.from({ length: 6000 }, (_, i) => (i % 137) - 68);
    for (const { name, bytes } of buildWfdb('beats', 360, 212, [{ samples }])) writeFileSync(join(folder, name), bytes);
    const beats = Array.from({ length: 14 }, (_, k) => ({ tick: 400 * (k + 1), code: 1 }));
    writeFileSync(join(folder, 'beats.atr'), buildWfdbAnnotations(beats));
    const { status, stdout, stderr } = sweepwise([
      ...['race', '--recording', join(folder, 'beats.hea'), '--events', 'annotation=N', '--channel', 'signal'],
      ...['--window-ms', '-100,300', '--band-hz', '1,40', '--json'],
    ]);
    rmSync(folder, { recursive: true });
    expect([status, stderr]).toEqual([0, '']);
    expect(JSON.parse(stdout).channels[0].sweepsOffered).toBe(14);
  });

  it('puts a known response into a real recording, so that truth is told', () => {
    const words = [...run1, '--channel', 'TP9', '--implant', 'cortical', '--implant-uv', '20', '--replicates', '2'];
    const { status, stdout, stderr } = sweepwise([...words, '--json']);
    expect([status, stderr]).toEqual([0, '']);
    const { lanes } = JSON.parse(stdout);
    // 20 µV against about 1 µV left: a lane that counts every sweep keeps the size to within that noise.
    expect(Math.abs(lanes[0].amplitudeGain - 1)).toBeLessThan(0.2);
    expect(lanes[0].residualNoiseNv).toBeGreaterThan(100);
    const text = sweepwise([...words, '--read']).stdout;
    expect(text).toMatch(/^Plain mean( +\d+\.\d\d +[<\d.]+){2} .* groups$/m);
    expect(text).toContain('Cortical P1–N1–P2 implanted into run-1.csv.gz, channel TP9');
    expect(text).toContain('2 places');
    expect(text).not.toContain('came from a person');
  });

  it.each([
    [['--channel', 'TP9', '--implant', 'click-abr'], 'below half the recording', 'too slow a recording'],
    [['--channel', 'TP9', '--implant', 'wave'], '--implant: must be one of click-abr', 'no such response'],
    [['--channel', 'TP9,TP10', '--implant', 'cortical'], '--channel: must be one channel', 'two channels'],
    [['--implant', 'cortical'], 'needs --channel', 'no channel'],
    [['--channel', 'TP9', '--implant-uv', '3'], '--implant-uv needs --implant', 'size of nothing'],
    [
      ['--channel', 'TP9', '--implant', 'cortical', '--events', 'Marker0=2'],
      "is for the recording's own events",
      'both',
    ],
    [['--channel', 'TP9', '--implant', 'cortical', '--ledger'], 'needs simulated noise', 'ledger'],
    [['--channel', 'TP9', '--implant', 'cortical', '--detection'], 'needs simulated noise', 'detection'],
    [['--channel', 'TP9', '--read'], 'race: --read needs a known response', 'reading without a truth'],
    [['--channel', 'TP9', '--quality'], 'race: --quality needs a known response', 'judging without a truth'],
  ])('refuses to implant with %j in one line (%s)', (words, message) => {
    const { status, stderr } = sweepwise([...run1, ...words]);
    expect(status).toBe(1);
    expect(stderr.trimEnd().split('\n')).toHaveLength(1);
    expect(stderr).toContain(message);
  });

  it.each([
    [['--events', 'Marker0=9', '--channel', 'TP9', ...cut], 'Marker0=2 (', 'no such code: the choices with counts'],
    [['--events', 'Marker0=2', '--channel', 'Cz', ...cut], 'TP9', 'no such channel: the choices'],
    [['--events', 'Marker0=2', '--channel', 'TP9', '--window-ms', '800,-100', '--band-hz', '1,15'], 'rising', 'window'],
    [['--events', 'Marker0=2', '--channel', 'TP9', '--window-ms', '-100,800', '--band-hz', '1,200'], '128 Hz', 'band'],
    [
      ['--events', 'Marker0=2', '--channel', 'TP9', '--window-ms', '0,9999999', '--band-hz', '1,15'],
      '8 sweeps',
      'long',
    ],
    [
      [
        '--events',
        'Marker0=2',
        '--channel',
        'TP9',
        '--window-ms',
        '100,800',
        '--band-hz',
        '1,15',
        '--baseline',
        'pre-stimulus',
      ],
      '--baseline:',
      'no pre-stimulus',
    ],
    [
      ['--events', 'Marker0=2', '--channel', 'TP9', '--window-ms', '-100,800', '--band-hz', '1e-9,15'],
      '--band-hz: band must begin',
      'too low',
    ],
    [['--channel', 'TP9', ...cut], 'needs --events', 'missing option'],
    [['--events', 'Marker0=2', '--channel', 'TP9', ...cut, '--polarity', 'up'], '--polarity: must be', 'polarity'],
    [['--events', 'Marker0=2', '--channel', 'TP9', ...cut, '--set', 'eeg.slowUv=3'], 'only averaging.*', 'override'],
    [['--events', 'Marker0=2', '--channel', 'TP9', ...cut, '--baseline', 'flat'], 'must be none, pre-stimulus', 'kind'],
    [['--events', 'Marker0=2', '--channel', 'TP9', ...cut, '--replicates', '3'], 'needs a simulated', 'replicates'],
  ])('refuses %j with one line naming the rule (%s)', (words, message) => {
    const { status, stderr } = sweepwise([...run1, ...words]);
    const lines = stderr
      .trimEnd()
      .split('\n')
      .filter((line) => !line.startsWith('warning: '));
    expect(status).toBe(1);
    expect(lines).toHaveLength(1);
    expect(lines[0]).toContain(message);
  });
});
