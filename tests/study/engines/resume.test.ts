import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { beforeAll, describe, expect, it } from 'vitest';
import { driveStudy } from '../../../src/study/drive.ts';
import { inProcessEngine } from '../../../src/study/engines/inProcess.ts';
import { writeReport } from '../../../src/study/engines/reportFiles.ts';
import { existingStudyFolder, studyFolder, writeWhole } from '../../../src/study/engines/studyFolder.ts';
import { threadsEngine } from '../../../src/study/engines/threads.ts';
import { sweepwise } from '../../cli/sweepwise.ts';
import { smallPlan, smallStudy } from '../small.ts';
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

describe('a study that is interrupted', { timeout: 180_000 }, () => {
  beforeAll(() => {
    expect(sweepwise(['study', 'run', study, '--out', whole, '--in-process', '--quiet']).stderr).toBe('');
  });

  it('equals one that was not, to the byte: killed with -9 again and again, with threads', async () => {
    const out = join(folder, 'killed');
    for (const blockCount of [2, 12]) {
      const words = existsSync(out) ? ['resume', out] : ['run', study, '--out', out];
      const child = await started([...words, '--workers', '2', '--quiet'], out, blockCount);
      child.kill('SIGKILL');
      await ended(child);
    }
    expect(contentOf(out)).not.toHaveProperty('rows.csv');
    expect(sweepwise(['study', 'resume', out, '--workers', '2', '--quiet']).status).toBe(0);
    expect(contentOf(out)).toEqual(contentOf(whole));
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
  });

  it('runs a block again whose file was torn', async () => {
    const out = join(folder, 'stopped');
    const [name] = readdirSync(join(out, 'blocks'));
    const content = contentOf(join(out, 'blocks'));
    writeFileSync(join(out, 'blocks', name), '{"block":"');
    const opened = await existingStudyFolder(out, versionOf(out));
    const order = { store: opened, signal: new AbortController().signal, progress: () => {}, note: () => {} };
    expect(await driveStudy({ ...order, engine: null })).toMatchObject({ finished: false, missing: [{}] });
    expect(await driveStudy({ ...order, engine: inProcessEngine() })).toMatchObject({ finished: true });
    expect(contentOf(join(out, 'blocks'))).toEqual(content);
  });
});

describe('a folder of results', () => {
  it('is refused for another study, another version, or other files', async () => {
    const version = versionOf(whole);
    const other = smallPlan({ seed: "'2'" });
    const refusal = /whole: must hold study [0-9a-f]{12} \(small\), got [0-9a-f]{12} \(small\); name another folder/;
    expect(() => studyFolder(whole, other, version)).toThrow(refusal);
    expect(() => studyFolder(folder, other, version)).toThrow('must be empty or hold this study, got other files');
    await expect(existingStudyFolder(whole, '0.0.1+deadbeef')).rejects.toThrow(
      `rows must all be of one version of the program, got ${version} in the folder and 0.0.1+deadbeef here`,
    );
    await expect(existingStudyFolder(folder, version)).rejects.toThrow(
      'must hold a study that was run, got no study.json',
    );
  });

  it.runIf(existsSync('/dev/full'))('says plainly that the disk is full, and keeps what was there', () => {
    const file = join(folder, 'kept.json');
    writeWhole(file, 'before');
    symlinkSync('/dev/full', `${file}.${process.pid}.part`); // where the new content goes first
    expect(() => writeWhole(file, 'after')).toThrow(
      `${file}: cannot be written, the disk is full (ENOSPC); what was stored before is kept`,
    );
    expect(readFileSync(file, 'utf8')).toBe('before');
    expect(readdirSync(folder).filter((name) => name.endsWith('.part'))).toEqual([]);
  });
});

describe.runIf(existsSync('/dev/full'))('a disk that fills up on the way', () => {
  it('is one error; what was stored is kept, and the study goes on to the same bytes when there is room', async () => {
    const plan = smallPlan({ replicates: '8' });
    const run = async (name: string) => {
      const store = studyFolder(join(folder, name), plan, '0.1.0+test');
      const { signal } = new AbortController();
      return {
        store,
        state: await driveStudy({ store, engine: inProcessEngine(), signal, progress: () => {}, note: () => {} }),
      };
    };
    const { blocks } = (await run('roomy')).state;
    const out = join(folder, 'filling');
    studyFolder(out, plan, '0.1.0+test');
    const full = (file: string) => symlinkSync('/dev/full', join(out, `${file}.part`)); // where a file is written first
    full(`blocks/${blocks[2].id}.json.${process.pid}`);
    const message = 'cannot be written, the disk is full (ENOSPC); what was stored before is kept';
    await expect(run('filling')).rejects.toThrow(`${blocks[2].id}.json: ${message}`);
    expect(readdirSync(join(out, 'blocks')).sort()).toEqual(
      blocks
        .slice(0, 2)
        .map(({ id }) => `${id}.json`)
        .sort(),
    );
    const { store, state } = await run('filling');
    expect(contentOf(join(out, 'blocks'))).toEqual(contentOf(join(folder, 'roomy/blocks')));
    for (const table of ['rows.csv', 'rows.parquet', 'results.jsonl']) {
      full(table);
      await expect(writeReport(store, state)).rejects.toThrow(`filling: ${message}`);
      expect(readdirSync(out).sort()).toEqual(['blocks', 'study.json']);
    }
    expect((await writeReport(store, state)).length).toBe(5);
  });
});

describe('a program that was changed while a study ran', () => {
  it('makes no rows under the old version', async () => {
    const store = studyFolder(join(folder, 'changed'), smallPlan(), '0.1.0+deadbeef');
    const engine = threadsEngine(1);
    const { signal } = new AbortController();
    const run = driveStudy({ store, engine, signal, progress: () => {}, note: () => {} });
    await expect(run).rejects.toThrow(
      /^the program: must be of version 0\.1\.0\+deadbeef until the study ends, got code [0-9a-f]{8} on the disk now$/,
    );
    await engine.close();
    expect(readdirSync(join(folder, 'changed/blocks'))).toEqual([]);
  });
});

describe('a folder that no file system makes', () => {
  it.runIf(existsSync('/proc/self'))('is refused at once', () => {
    expect(() => studyFolder('/proc/sweepwise', smallPlan(), '0.1.0+test')).toThrow(
      '/proc/sweepwise: cannot be written',
    );
  });
});

function versionOf(path: string): string {
  return JSON.parse(readFileSync(join(path, 'study.json'), 'utf8')).version;
}
