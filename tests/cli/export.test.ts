import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readRecording } from '../../src/formats/index.ts';
import { needOutsideReaders, readWithEdflib } from '../formats/outsideReaders.ts';
import { sweepwise } from './sweepwise.ts';

const folder = mkdtempSync(join(tmpdir(), 'sweepwise-export-'));
afterAll(() => rmSync(folder, { recursive: true }));
const short = ['--seconds', '4', '--seed', 'blue'];

describe('sweepwise export', () => {
  beforeAll(needOutsideReaders, 300_000);

  it.each(['edf', 'bdf'])('writes a file with a whole header that EDFlib reads: .%s', (extension) => {
    const path = join(folder, `run.${extension}`);
    const { status, stdout, stderr } = sweepwise(['export', 'quiet-sleeper', '--to', path, ...short]);
    expect(status).toBe(0);
    expect(stderr.trimEnd().split('\n')).toEqual([
      expect.stringMatching(/^caution: A teaching simulation/),
      expect.stringMatching(/^caution: Your local protocol/),
    ]);
    expect(stdout).toContain('quiet-sleeper, seed blue, 4 s, in ');
    const reading = readWithEdflib(path, 10);
    expect(reading.recordCount).toBe(Number(/in (\d+) data records/.exec(stdout)?.[1]));
    expect(reading.annotations.filter(([, , text]) => text.startsWith('stimulus'))).toHaveLength(110);
  });

  it('writes a file that the race then runs on', () => {
    const path = join(folder, 'again.bdf');
    sweepwise(['export', 'quiet-sleeper', '--to', path, '--seconds', '20', '--truth']);
    const events = 'annotation=stimulus condensation,annotation=stimulus rarefaction';
    const { status, stdout, stderr } = sweepwise([
      ...['race', '--recording', path, '--channel', 'EEG ipsi', '--events', events],
      ...['--window-ms', '-5,15', '--band-hz', '100,1500', '--json'],
    ]);
    expect([status, stderr]).toEqual([0, '']);
    expect(JSON.parse(stdout).channels[0].sweepsOffered).toBe(554);
  });

  it('says what is unusual and what to mind with loud sounds, on standard error', () => {
    const loud = ['--set', 'response.kind=cvemp', '--set', 'stimulus.ratePerS=5', '--set', 'session.targetNv=9000'];
    const words = ['export', '--to', join(folder, 'loud.csv'), '--seconds', '4', ...loud];
    const { status, stdout, stderr } = sweepwise(words);
    expect(status).toBe(0);
    expect(stdout.trimEnd().split('\n')).toHaveLength(1);
    expect(stderr).toMatch(/^unusual: stimulus\.ratePerS: .*, got 5$/m);
    expect(stderr).toMatch(/^caution: 97 dB nHL is loud/m);
    expect(stderr).toMatch(/^caution: .* must not be listened to at test level/m);
  });

  it('gives the same file for the same seed, and another for another', () => {
    const write = (name: string, seed: string) => {
      sweepwise(['export', '--to', join(folder, name), '--seconds', '2', '--seed', seed]);
      return readFileSync(join(folder, name));
    };
    const first = write('a.edf', '1');
    expect(write('b.edf', '1').equals(first)).toBe(true);
    expect(write('c.edf', '2').equals(first)).toBe(false);
  });

  it('writes delimited text with what was set', () => {
    const path = join(folder, 'run.csv');
    sweepwise(['export', '--to', path, ...short, '--set', 'stimulus.ratePerS=10']);
    const { channels, warnings } = readRecording('run.csv', readFileSync(path));
    expect(warnings).toEqual([]);
    expect(channels.map(({ label }) => label)).toEqual(['ipsi', 'contra', 'stimulus', 'over-range']);
    expect(Array.from(channels[2].samplesUv).filter((code) => code > 0)).toHaveLength(40);
  });

  it.each([
    [['export'], 'needs --to FILE', 'no file'],
    [['export', '--to', 'run.txt'], 'must end in .edf, .bdf or .csv, got "run.txt"', 'format unknown'],
    [['export', '--to', '/nowhere/run.edf'], '/nowhere/run.edf: cannot be written (ENOENT)', 'no such folder'],
    [['export', 'nobody', '--to', join(folder, 'x.edf')], 'unknown scenario "nobody"', 'no such patient'],
    [['export', '--to', join(folder, 'x.edf'), '--seconds', '0'], '--seconds: must be a number', 'no time'],
    [['export', '--to', join(folder, 'x.edf'), '--set', 'converter.sampleRateHz=16000.5'], 'sampleRateHz', 'no record'],
    [['export', '--to', join(folder, 'x.edf'), '--set', 'stimulus.rate=1'], 'unknown key', 'no such key'],
  ])('refuses %j in one line, and leaves no file behind (%s: %s)', (words, message) => {
    const { status, stdout, stderr } = sweepwise(words);
    expect([status, stdout]).toEqual([1, '']);
    expect(stderr.trimEnd().split('\n')).toHaveLength(1);
    expect(stderr).toContain(message);
    expect(existsSync(join(folder, 'x.edf'))).toBe(false);
  });
});
