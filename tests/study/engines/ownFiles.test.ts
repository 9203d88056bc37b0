import { readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { csvParse } from 'd3-dsv';
import { beforeAll, describe, expect, it } from 'vitest';
import { nextGaussian, stream } from '../../../src/core/random/stream.ts';
import { planStudy } from '../../../src/study/plan.ts';
import { outsideOfHead, readResults } from '../../../src/study/resultsFile.ts';
import { sweepwise } from '../../cli/sweepwise.ts';
import { smallStudy } from '../small.ts';
import { contentOf, ownStrategy, scratchFolder, studyFile } from './resultFolder.ts';

const folder = scratchFolder('own');
const strategies = '[{ strategy: plain-mean }, { strategy: ./mine.ts, parameters: { floorUv2: [0.1, 0.5, 2] } }]';
const background = 'background: { files: [background.csv], channel: Cz, sampleRateHz: 500 }';
const scenario = 'session.durationS: 8, converter.sampleRateHz: 2000, filter.lowPassHz: 200, filter.highPassHz: 20';

describe('a study with a strategy and a recording of one’s own', { timeout: 180_000 }, () => {
  let rows: Record<string, string>[];
  beforeAll(() => {
    ownStrategy(folder);
    const draws = stream('3', 'test/background');
    const lines = Array.from({ length: 15000 }, () => (5 * nextGaussian(draws)).toFixed(3));
    writeFileSync(join(folder, 'background.csv'), `Cz\n${lines.join('\n')}\n`);
    const scenarios = `[{ id: real, set: { ${scenario} }, ${background} }]`;
    const text = smallStudy({ strategies, scenarios, replicates: '4' });
    const path = studyFile(folder, 'study.yaml', text);
    const threads = sweepwise(['study', 'run', path, '--out', join(folder, 'threads'), '--workers', '2', '--quiet']);
    expect([threads.status, threads.stderr]).toEqual([0, '']);
    const alone = sweepwise(['study', 'run', path, '--out', join(folder, 'alone'), '--in-process', '--quiet']);
    expect([alone.status, alone.stderr]).toEqual([0, '']);
    rows = csvParse(readFileSync(join(folder, 'threads/rows.csv'), 'utf8')) as Record<string, string>[];
  }, 180_000);

  it('gives the same rows in threads and in one process', () => {
    expect(contentOf(join(folder, 'threads'))).toEqual(contentOf(join(folder, 'alone')));
    expect([...new Set(rows.map(({ setting }) => setting))]).toEqual([
      'plain-mean',
      'quiet-ends floorUv2=0.1',
      'quiet-ends floorUv2=0.5',
      'quiet-ends floorUv2=2',
    ]);
  });

  it('has the noise of the recording and the response of the model', () => {
    const noise = rows.filter(({ setting }) => setting === 'plain-mean').map((row) => Number(row.residualNoiseNv));
    // White noise of 5 µV at 500 Hz: 5·√(180/250) = 4.2 µV between 20 and 200 Hz, over √221 sweeps: 285 nV.
    const rms = Math.sqrt(noise.reduce((sum, value) => sum + value * value, 0) / noise.length);
    expect(rms).toBeGreaterThan(285 / 2);
    expect(rms).toBeLessThan(285 * 2);
    expect(new Set(noise).size).toBe(4); // each replicate has its own stretch
  });

  it('leaves results that can be read where neither file is, and that name no place of this machine', () => {
    const text = readFileSync(join(folder, 'threads/results.jsonl'), 'utf8');
    expect(text).not.toContain(folder);
    const { head, blocks } = readResults('results.jsonl', text);
    const plan = planStudy(head.study, head.files, outsideOfHead(head));
    expect([plan.hash, blocks.length]).toEqual([head.hash, 2]);
    expect(plan.settings.map(({ id }) => id)).toEqual([...new Set(rows.map(({ setting }) => setting))]);
  });

  it('refuses a file that is another than it was', () => {
    writeFileSync(join(folder, 'background.csv'), 'Cz\n1\n2\n');
    const blocks = join(folder, 'threads/blocks');
    rmSync(join(blocks, readdirSync(blocks)[0]));
    const refused = sweepwise(['study', 'resume', join(folder, 'threads'), '--in-process', '--quiet']);
    expect([refused.status, refused.stderr]).toEqual([
      1,
      expect.stringMatching(/background\.csv must be the file of the study \([0-9a-f]{12}\), got [0-9a-f]{12}\n$/),
    ]);
  });
});
