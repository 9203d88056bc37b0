import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { Worker } from 'bullmq';
import { StudyError } from '../studyError.ts';
import type { LoaderAddress } from './openPlan.ts';
import { connectRedis, LOOK_MS, QUEUE_NAME, STUDIES_KEY } from './redisConnection.ts';

/** How a worker serves. */
export interface WorkerOrder {
  url: string;
  version: string;
  /** Loads strategies that a study brings along. */
  loader: LoaderAddress;
  /** Blocks at a time, each in a process of its own. */
  count: number;
  /** After so long without a sign of life a block goes to another worker, s. */
  lockS: number;
  signal: AbortSignal;
  note(text: string): void;
}

/** Begins the reason of a refusal that concerns this worker and not the block: another may do it. */
export const NOT_HERE = 'not on this worker: ';

/**
 * Serves blocks from the queue until the signal, each in a sandboxed process, so that long blocks keep their lock.
 *
 * @throws {StudyError} if Redis cannot be reached, or a study wants another version of the program
 */
export async function serveBlocks(order: WorkerOrder): Promise<void> {
  const connection = await connectRedis(order.url);
  try {
    checkVersions(await connection.hgetall(STUDIES_KEY), order.version);
  } catch (error) {
    connection.disconnect();
    throw error;
  }
  const processor = fileURLToPath(new URL('./redisProcessor.mjs', import.meta.url));
  process.env.SWEEPWISE_WORKER = JSON.stringify({ url: order.url, version: order.version, loader: order.loader }); // the sandboxes read it
  const lockMs = 1000 * order.lockS;
  const worker = new Worker(QUEUE_NAME, processor, {
    connection,
    concurrency: order.count,
    lockDuration: lockMs,
    stalledInterval: lockMs,
    maxStalledCount: 1000, // a block is never to blame for the end of its worker
    useWorkerThreads: false,
  });
  let refusal: StudyError | null = null;
  worker.on('error', () => {}); // a lost connection returns by itself
  worker.on('completed', ({ id }) => order.note(`block ${id} done`));
  worker.on('failed', (job, error) => {
    if (error.message.startsWith(NOT_HERE)) refusal = new StudyError(error.message.slice(NOT_HERE.length));
    else order.note(`block ${job?.id} failed: ${error.message}`);
  });
  try {
    while (!order.signal.aborted && !refusal) {
      await sleep(LOOK_MS, undefined, { signal: order.signal }).catch(() => {});
    }
  } finally {
    // Blocks in work are given up: their locks run out, and another worker takes them.
    await Promise.race([worker.close(true), sleep(3000)]);
    connection.disconnect();
  }
  if (refusal) throw refusal;
}

function checkVersions(studies: Record<string, string>, version: string): void {
  for (const [hash, text] of Object.entries(studies)) {
    const order = JSON.parse(text) as { version: string; study: { id: string } };
    if (order.version !== version) {
      const study = `study ${order.study.id} (${hash})`;
      throw new StudyError(`study worker: must be of version ${order.version} for ${study}, got ${version}`);
    }
  }
}
