import { type ChildProcess, spawn, spawnSync } from 'node:child_process';
import { chmodSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { hostname, tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { firstOnPath, installPackages } from '../../debianPackages.ts';

const programs = ['munged', 'slurmctld', 'slurmd', 'sbatch'];
const packages = ['munge', 'slurmctld', 'slurmd', 'slurm-client'];
const folders = ['/usr/sbin', '/usr/local/sbin'];

/** A Slurm cluster of one node, this machine. */
export interface SlurmCluster {
  /** Environment in which sbatch and squeue find it. */
  env: NodeJS.ProcessEnv;
  /** Waits until no job is queued or running. */
  idle(): Promise<void>;
  stop(): void;
}

/**
 * Starts a real Slurm on this machine, from Debian's packages, which are installed first where they can be.
 *
 * @returns null where it cannot run: not as root, or no packages; the reason is said on the console
 */
export async function slurmCluster(): Promise<SlurmCluster | null> {
  process.env.PATH = [process.env.PATH, ...folders].join(':');
  if (process.getuid?.() !== 0) return notHere('its daemons are started as root');
  const missing = () => programs.filter((name) => !firstOnPath([name]));
  try {
    if (missing().length > 0) {
      installPackages(
        packages,
        'The tests of studies on a cluster need Slurm and this machine has none',
        'none is installed',
      );
    }
  } catch (error) {
    return notHere((error as Error).message);
  }
  const folder = mkdtempSync(join(tmpdir(), 'sweepwise-slurm-'));
  chmodSync(folder, 0o755);
  for (const name of ['state', 'spool']) mkdirSync(join(folder, name));
  mkdirSync(join(folder, 'munge'), { mode: 0o700 });
  writeFileSync(join(folder, 'munge/key'), Buffer.alloc(1024, 'sweepwise'), { mode: 0o400 });
  const socket = join(folder, 'munge/socket');
  const configuration = join(folder, 'slurm.conf');
  writeFileSync(configuration, configurationText(folder, socket));
  const env = { ...process.env, SLURM_CONF: configuration };
  const daemons: ChildProcess[] = [];
  const daemon = (name: string, words: string[]) => daemons.push(spawn(name, words, { env, stdio: 'ignore' }));
  const munge = ['key', 'pid', 'log', 'seed'].map((name) => `--${name}-file=${join(folder, 'munge', name)}`);
  const ask = (name: string, words: string[]) => spawnSync(name, words, { env, encoding: 'utf8' }).stdout;
  const cluster: SlurmCluster = {
    env,
    async idle() {
      while (ask('squeue', ['--noheader']).trim() !== '') await sleep(200);
    },
    stop() {
      for (const child of daemons.reverse()) child.kill('SIGKILL');
      rmSync(folder, { recursive: true, force: true });
    },
  };
  daemon('munged', ['--force', '--foreground', `--socket=${socket}`, ...munge]);
  await sleep(500);
  daemon('slurmctld', ['-D']);
  await sleep(1500);
  daemon('slurmd', ['-D', '-f', configuration]);
  for (let attempt = 0; attempt < 100; attempt++) {
    if (/\bidle\b/.test(ask('sinfo', ['--noheader']) ?? '')) return cluster;
    await sleep(200);
  }
  cluster.stop();
  return notHere('its node did not come up within 20 s');
}

function notHere(why: string): null {
  console.log(`No Slurm here, the script alone is tested: ${why}`);
  return null;
}

function configurationText(folder: string, socket: string): string {
  const port = 20000 + (process.pid % 20000);
  return [
    'ClusterName=sweepwise',
    `SlurmctldHost=${hostname()}(127.0.0.1)`,
    'SlurmUser=root',
    'SlurmdUser=root',
    'AuthType=auth/munge',
    `AuthInfo=socket=${socket}`,
    `StateSaveLocation=${folder}/state`,
    `SlurmdSpoolDir=${folder}/spool`,
    `SlurmctldPidFile=${folder}/slurmctld.pid`,
    `SlurmdPidFile=${folder}/slurmd.pid`,
    `SlurmctldPort=${port}`,
    `SlurmdPort=${port + 1}`,
    'ProctrackType=proctrack/linuxproc',
    'TaskPlugin=task/none',
    'MpiDefault=none',
    'JobAcctGatherType=jobacct_gather/none',
    'SelectType=select/cons_tres',
    'SelectTypeParameters=CR_Core',
    `NodeName=${hostname()} NodeAddr=127.0.0.1 CPUs=2 State=UNKNOWN`,
    'PartitionName=main Nodes=ALL Default=YES MaxTime=INFINITE State=UP',
    '',
  ].join('\n');
}
