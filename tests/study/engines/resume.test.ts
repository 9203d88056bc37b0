import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { beforeAll, describe, expect, it } from 'vitest';
import { sweepwise } from '../../cli/sweepwise.ts';
import { smallStudy } from '../small.ts';
import { contentOf, scratchFolder, studyFile } from './resultFolder.ts';

const bin = fileURLToPath(new URL('../../../src/cli/bin.mjs', import.meta.url));
const folder = scratchFolder('resume');
/** Three rounds: two of halving, one sealed; 30 blocks of about 50 ms. */
const study = studyFile(
  folder,
  'study.yaml',
  smallStudy({
    vary: '{ muscle.durationS: [0.1, 0.4] }',
    test: '[{ id: sealed, set: { session.durationS: 4 } }]',
    search: '{ kind: successive-halving, keepOneIn: 2 }',
    replicates: '20',
  }),
);
const whole = join(folder, 'whole');

/** Starts `study` with the words, and waits until so many blocks are there. */
async function started(words: string[], out: string, blockCount: number): Promise<ChildProcess> {
  const child = spawn(process.execPath, [bin, 'study', ...words], { stdio: ['ignore', 'ignore', 'pipe'] });
  const blocks = () => (existsSync(join(out, 'blocks')) ? readdirSync(join(out, 'blocks')).length : 0);
  while (blocks() < blockCount && child.exitCode === null) await sleep(5);
  return child;
}

function ended(child: ChildProcess): Promise<number | null> {
  return new Promise((resolve) => (child.exitCode !== null ? resolve(child.exitCode) : child.once('exit', resolve)));
}

describe('a study that is interrupted', () => {
  beforeAll(() => {
    expect(sweepwise(['study', 'run', study, '--out', whole, '--in-process', '--quiet']).stderr).toBe('');
  });

  it('equals one that was not, to the byte: killed with -9 again and again, with threads', async () => {
    const out = join(folder, 'killed');
    for (const blockCount of [1, 10]) {
      const words = existsSync(out) ? ['resume', out] : ['run', study, '--out', out];
      const child = await started([...words, '--workers', '2', '--quiet'], out, blockCount);
      child.kill('SIGKILL');
      await ended(child);
    }
    const before = readdirSync(join(out, 'blocks')).filter((name) => name.endsWith('.json')).length;
    expect(before).toBeLessThan(Object.keys(contentOf(whole)).length - 4);
    expect(sweepwise(['study', 'resume', out, '--workers', '2', '--quiet']).status).toBe(0);
    const left = contentOf(out);
    // A write that was cut off leaves a part beside the blocks; it is never read.
    for (const name of Object.keys(left)) if (name.endsWith('.part')) delete left[name];
    expect(left).toEqual(contentOf(whole));
  });

  it('ends on Ctrl-C with 130, says how to go on, and shows partial results', async () => {
    const out = join(folder, 'stopped');
    const child = await started(['run', study, '--out', out, '--in-process', '--quiet'], out, 3);
    let told = '';
    child.stderr?.on('data', (text) => {
      told += text;
    });
    child.kill('SIGINT');
    expect(await ended(child)).toBe(130);
    expect(told).toMatch(/Interrupted: \d+ blocks of .* are missing\.\nGo on with: sweepwise study resume /);

    const status = JSON.parse(sweepwise(['study', 'status', out, '--json']).stdout);
    expect(status).toMatchObject({ study: 'small', finished: false });
    expect(status.missingBlocks).toBeGreaterThan(0);
    expect(sweepwise(['study', 'report', out]).status).toBe(0);
    expect(readFileSync(join(out, 'report.html'), 'utf8')).toContain('Partial results');
    expect(readFileSync(join(out, 'rows.csv'), 'utf8').trim().split('\n').length).toBeGreaterThan(3);

    expect(sweepwise(['study', 'resume', out, '--quiet']).status).toBe(0);
    expect(contentOf(out)).toEqual(contentOf(whole));
    expect(sweepwise(['study', 'status', out]).stdout).toContain('finished');
  });

  it('runs a block again whose file was torn', () => {
    const out = join(folder, 'killed');
    const [name] = readdirSync(join(out, 'blocks'));
    writeFileSync(join(out, 'blocks', name), '{"block":"');
    const resumed = sweepwise(['study', 'resume', out, '--quiet', '--in-process']);
    expect(resumed.status).toBe(0);
    expect(contentOf(out)).toEqual(contentOf(whole));
  });
});

describe('a folder of results', () => {
  it('is refused for another study, another version, or other files', () => {
    const other = studyFile(folder, 'other.yaml', smallStudy({ seed: "'2'" }));
    const refused = sweepwise(['study', 'run', other, '--out', whole]);
    expect(refused.status).toBe(1);
    expect(refused.stderr).toMatch(/^sweepwise: .*whole: must hold study [0-9a-f]{12} \(small\), got [0-9a-f]{12}/);
    expect(sweepwise(['study', 'run', other, '--out', folder]).stderr).toContain('must be empty or hold this study');

    const stored = readFileSync(join(whole, 'study.json'), 'utf8');
    writeFileSync(join(whole, 'study.json'), stored.replace(/"version": "[^"]*"/, '"version": "0.0.1+deadbeef"'));
    const mixed = sweepwise(['study', 'resume', whole]);
    writeFileSync(join(whole, 'study.json'), stored);
    expect(mixed.status).toBe(1);
    expect(mixed.stderr).toMatch(/rows must all be of one version of the program, got 0\.0\.1\+deadbeef in the folder/);
  });

  it.runIf(existsSync('/dev/full'))('says plainly that the disk is full', () => {
    const refused = sweepwise(['study', 'run', study, '--out', '/dev/full/results']);
    expect(refused.status).toBe(1);
    expect(refused.stderr).toMatch(/^sweepwise: .*cannot be written, .*what was stored before is kept\n$/);
  });
});
