import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync, renameSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { sweepwise } from '../../cli/sweepwise.ts';
import { smallStudy } from '../small.ts';
import { contentOf, ownStrategy, scratchFolder, studyFile } from './resultFolder.ts';
import { type SlurmCluster, slurmCluster } from './slurmCluster.ts';

const bin = fileURLToPath(new URL('../../../src/cli/bin.mjs', import.meta.url));
const folder = scratchFolder('slurm');
/** Two rounds: the grid, then a sealed scenario. */
const study = studyFile(folder, 'study.yaml', smallStudy({ test: '[{ id: sealed, set: { session.durationS: 4 } }]' }));
const whole = join(folder, 'whole');

/** Runs the tasks of the array script one after the other, as Slurm would start them. */
function runTasks(out: string, tasks: number[]): void {
  for (const task of tasks) {
    const env = { ...process.env, SLURM_ARRAY_TASK_ID: String(task) };
    const { status, stderr } = spawnSync('bash', [join(out, 'slurm/blocks.sh')], { env, encoding: 'utf8' });
    expect([status, stderr]).toEqual([0, '']);
  }
}

describe('an array script', { timeout: 180_000 }, () => {
  beforeAll(() => {
    expect(sweepwise(['study', 'run', study, '--out', whole, '--in-process', '--quiet']).status).toBe(0);
  }, 120_000);

  it('runs what is missing, again what is still missing, then the next round; the rows are those of one process', () => {
    const out = join(folder, "it's a folder");
    const first = sweepwise(['study', 'slurm', study, '--out', out, '--tasks', '2', '--time', '00:10:00']);
    expect(first.stdout).toContain('3 blocks of all settings');
    const script = readFileSync(join(out, 'slurm/blocks.sh'), 'utf8');
    expect(script).toMatch(/^#!\/bin\/bash\n# Study small \([0-9a-f]{12}\)/);
    expect(script).toContain('#SBATCH --array=0-1\n');
    expect(script).toContain('#SBATCH --time=00:10:00\n');
    runTasks(out, [0]); // task 1 died with its node
    expect(sweepwise(['study', 'slurm', out]).stdout).toContain('1 blocks of all settings');
    runTasks(out, [0]);
    expect(sweepwise(['study', 'slurm', out]).stdout).toContain('3 blocks of sealed test');
    runTasks(out, [0, 1, 2]);
    expect(sweepwise(['study', 'slurm', out]).stdout).toContain('Nothing is missing');
    expect(sweepwise(['study', 'report', out]).status).toBe(0);
    expect(contentOf(out)).toEqual(contentOf(whole));
  });
});

describe('an array script with a strategy from a file', { timeout: 180_000 }, () => {
  it('gives the rows of one process; a node without the file says so in one line, and nothing is lost', () => {
    const path = ownStrategy(folder);
    const strategies = '[{ strategy: plain-mean }, { strategy: ./mine.ts, parameters: { floorUv2: [0.1, 2] } }]';
    const own = studyFile(folder, 'own.yaml', smallStudy({ strategies, replicates: '4' }));
    const out = join(folder, 'own');
    expect(sweepwise(['study', 'slurm', own, '--out', out, '--tasks', '2']).stdout).toContain(
      '2 blocks of all settings',
    );
    renameSync(path, `${path}.away`);
    const env = { ...process.env, SLURM_ARRAY_TASK_ID: '0' };
    const { status, stderr } = spawnSync('bash', [join(out, 'slurm/blocks.sh')], { env, encoding: 'utf8' });
    expect([status, stderr]).toEqual([1, 'sweepwise: strategies: ./mine.ts cannot be read on this machine (ENOENT)\n']);
    renameSync(`${path}.away`, path);
    runTasks(out, [0, 1]);
    expect(sweepwise(['study', 'report', out]).status).toBe(0);
    const whole = join(folder, 'own-whole');
    expect(sweepwise(['study', 'run', own, '--out', whole, '--in-process', '--quiet']).status).toBe(0);
    expect(contentOf(out)).toEqual(contentOf(whole));
  });
});

describe('a real Slurm', { timeout: 240_000 }, () => {
  let cluster: SlurmCluster | null = null;
  beforeAll(async () => {
    cluster = await slurmCluster();
  }, 240_000);
  afterAll(() => cluster?.stop());

  it('runs the array, and the blocks that were lost when it is sent again', async ({ skip }) => {
    if (!cluster) return skip('no Slurm can run here');
    const out = join(folder, 'cluster');
    const submitted = (place: string[]) =>
      spawnSync(process.execPath, [bin, 'study', 'slurm', ...place, '--submit'], {
        env: cluster?.env,
        encoding: 'utf8',
      });
    const first = submitted([study, '--out', out, '--tasks', '2']);
    expect(first.stderr).toBe('');
    expect(first.stdout).toMatch(/Submitted batch job \d+\n$/);
    await cluster.idle();
    const [lost] = readdirSync(join(out, 'blocks'));
    rmSync(join(out, 'blocks', lost));
    expect(submitted([out]).stdout).toContain('1 blocks of all settings');
    await cluster.idle();
    expect(submitted([out]).stdout).toContain('3 blocks of sealed test');
    await cluster.idle();
    expect(submitted([out]).stdout).toContain('Nothing is missing');
    expect(sweepwise(['study', 'report', out]).status).toBe(0);
    expect(contentOf(out)).toEqual(contentOf(whole));
  });
});
