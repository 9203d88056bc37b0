import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { connectRedis } from '../../../src/study/engines/redisConnection.ts';
import { firstOnPath, installPackages } from '../../debianPackages.ts';

/** A real Redis of one test file, with an append-only file on disk. */
export interface RedisServer {
  url: string;
  start(): Promise<void>;
  /** Ends it as a crash does, with -9: what is not in the append-only file is lost. */
  kill(): Promise<void>;
  /** Ends it and takes its files away. */
  remove(): Promise<void>;
}

/** Prepares a Redis on a free port; on a Debian-like machine without one it is installed first. */
export async function redisServer(): Promise<RedisServer> {
  const programs = ['redis-server'];
  if (!firstOnPath(programs)) {
    const why = 'The tests of studies on several machines need Redis and this machine has none';
    installPackages(programs, why, 'install the package "redis-server"');
  }
  const program = firstOnPath(programs);
  if (program === undefined) throw new Error('redisServer: apt-get installed Redis, yet no redis-server is on PATH');
  const folder = mkdtempSync(join(tmpdir(), 'sweepwise-redis-'));
  const port = await freePort();
  const url = `redis://127.0.0.1:${port}`;
  let server: ChildProcess | null = null;

  async function kill(): Promise<void> {
    const running = server;
    server = null;
    if (!running || running.exitCode !== null) return;
    const gone = new Promise((resolve) => running.once('exit', resolve));
    running.kill('SIGKILL');
    await gone;
  }

  return {
    url,
    async start() {
      const words = ['--port', String(port), '--bind', '127.0.0.1', '--dir', folder, '--save', ''];
      server = spawn(program, [...words, '--appendonly', 'yes', '--appendfsync', 'always'], { stdio: 'ignore' });
      for (let attempt = 0; attempt < 200; attempt++) {
        try {
          (await connectRedis(url)).disconnect();
          return;
        } catch {
          await sleep(50);
        }
      }
      throw new Error(`redisServer: Redis must answer on port ${port}, got nothing for 10 s`);
    },
    kill,
    async remove() {
      await kill();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

/** A port that nobody uses at the moment. */
function freePort(): Promise<number> {
  return new Promise((resolve, reject) => {
    const probe = createServer();
    probe.once('error', reject);
    probe.listen(0, '127.0.0.1', () => {
      const address = probe.address();
      probe.close(() => resolve(typeof address === 'object' && address ? address.port : 0));
    });
  });
}
