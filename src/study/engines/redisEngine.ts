import { setTimeout as sleep } from 'node:timers/promises';
import { Job, Queue } from 'bullmq';
import type { Redis } from 'ioredis';
import type { Block } from '../block.ts';
import type { Engine, EngineTask } from '../engine.ts';
import type { BlockRows } from '../runBlock.ts';
import { StudyError } from '../studyError.ts';
import { connectRedis, LOOK_MS, QUEUE_NAME, STUDIES_KEY } from './redisConnection.ts';

/** What a job in the queue carries; the study itself lies in a Redis hash once. */
export interface BlockJob {
  study: string;
  version: string;
  block: Block;
}

/** Jobs in the queue at a time: enough for many workers, and memory stays flat. */
const WINDOW = 256;
// Blocks are tried again when a worker refuses them (another version, a missing file); the worker then ends itself.
const ATTEMPTS = 50;

/**
 * Runs blocks on workers anywhere (`study worker`), through BullMQ on Redis.
 *
 * The queue is the way, not the store: rows go to the folder as soon as they are seen, and only then does the job go
 * away. A job that is not there any more, because Redis lost it, is put in again, under the same id.
 */
export function redisEngine(url: string): Engine {
  let open: { connection: Redis; queue: Queue } | null = null;
  const connect = async () => {
    const connection = await connectRedis(url);
    const queue = new Queue(QUEUE_NAME, { connection });
    queue.on('error', () => {}); // the connection returns by itself; until then nothing is lost
    return { connection, queue };
  };
  return {
    label: 'workers on Redis',
    async run(task) {
      open ??= await connect();
      const { connection, queue } = open;
      const { plan, version } = task;
      const order = JSON.stringify({ version, study: plan.study, files: plan.files });
      await connection.hset(STUDIES_KEY, plan.hash, order);
      const stopNotes = noteConnection(connection, task);
      try {
        await runBlocks(queue, task);
      } finally {
        stopNotes();
        if (connection.status === 'ready') await connection.hdel(STUDIES_KEY, plan.hash);
      }
    },
    async close() {
      if (!open) return;
      const { connection, queue } = open;
      open = null;
      await Promise.race([queue.close(), sleep(2000)]);
      connection.disconnect();
    },
  };
}

async function runBlocks(queue: Queue, task: EngineTask): Promise<void> {
  const waiting = [...task.blocks].reverse();
  const outstanding = new Map<string, Block>();
  const startedAt = Date.now();
  while ((waiting.length > 0 || outstanding.size > 0) && !task.signal.aborted) {
    while (outstanding.size < WINDOW) {
      const block = waiting.pop();
      if (!block) break;
      outstanding.set(block.id, block);
      await addJob(queue, task, block);
    }
    let arrived = 0;
    for (const block of [...outstanding.values()]) {
      if (task.signal.aborted) break;
      if (await collect(queue, task, block, startedAt)) {
        outstanding.delete(block.id);
        arrived++;
      }
    }
    if (arrived === 0) await sleep(LOOK_MS, undefined, { signal: task.signal }).catch(() => {});
  }
  if (task.signal.aborted) await withdraw(queue, [...outstanding.values()]);
}

async function addJob(queue: Queue, { plan, version }: EngineTask, block: Block): Promise<void> {
  const data: BlockJob = { study: plan.hash, version, block };
  const keep = { removeOnComplete: false, removeOnFail: false };
  const retry = { attempts: ATTEMPTS, backoff: { type: 'fixed', delay: 500 } };
  // A job of this id that is still there, from a run that was interrupted, stays as it is.
  await queue.add(plan.hash, data, { jobId: block.id, ...keep, ...retry });
}

/** Stores the rows of a block that is done, then lets the job go. @returns whether it was done */
async function collect(queue: Queue, task: EngineTask, block: Block, startedAt: number): Promise<boolean> {
  const job = await Job.fromId(queue, block.id);
  if (!job) {
    await addJob(queue, task, block);
    return false;
  }
  const state = job.finishedOn ? await job.getState() : 'open';
  if (state === 'failed') {
    await job.remove();
    if (job.timestamp < startedAt) {
      await addJob(queue, task, block); // left over from a run before: it gets a new chance
      return false;
    }
    throw new StudyError(`block ${block.id}: ${job.failedReason}; the blocks stored so far are kept`);
  }
  if (state !== 'completed') return false;
  const rows = job.returnvalue as BlockRows;
  if (rows.version === task.version) task.store(block, rows);
  await job.remove();
  if (rows.version === task.version) return true;
  await addJob(queue, task, block); // left over from a run with another version
  return false;
}

/** Takes jobs out of the queue that nobody has begun. */
async function withdraw(queue: Queue, blocks: readonly Block[]): Promise<void> {
  for (const { id } of blocks) {
    const job = await Job.fromId(queue, id);
    await job?.remove().catch(() => {}); // a worker has it: its rows wait for the next run
  }
}

function noteConnection(connection: Redis, task: EngineTask): () => void {
  const onClose = () => task.note('the connection to Redis is lost; waiting for it to return');
  const onReady = () => task.note('the connection to Redis is back');
  connection.on('close', onClose);
  connection.on('ready', onReady);
  return () => connection.off('close', onClose).off('ready', onReady);
}
