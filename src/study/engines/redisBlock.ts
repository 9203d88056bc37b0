import { setImmediate } from 'node:timers/promises';
import type { SandboxedJob } from 'bullmq';
import { backgroundsOf } from '../backgrounds.ts';
import type { StudyOrder } from '../engine.ts';
import type { StudyPlan } from '../plan.ts';
import { type Backgrounds, type BlockRows, rowsOfBlock } from '../runBlock.ts';
import { checkCode } from './codeVersion.ts';
import { bytesOf, type LoaderAddress, openPlan } from './openPlan.ts';
import { connectRedis, STUDIES_KEY } from './redisConnection.ts';
import type { BlockJob } from './redisEngine.ts';
import { NOT_HERE } from './redisWorker.ts';

const { url, version, loader } = JSON.parse(process.env.SWEEPWISE_WORKER ?? '{}') as SandboxOrder;
interface SandboxOrder {
  url: string;
  version: string;
  loader: LoaderAddress;
}

const studies = new Map<string, { plan: StudyPlan; backgrounds: Backgrounds }>();

/** Runs the block of a job, in a process of its own. The rows become the return value of the job. */
export async function processBlock(job: SandboxedJob<BlockJob>): Promise<BlockRows> {
  const { study, version: wanted, block } = job.data;
  if (wanted !== version) {
    throw new Error(`${NOT_HERE}study worker: must be of version ${wanted} for study ${study}, got ${version}`);
  }
  const { plan, backgrounds } = await studyOf(study);
  for (const { background } of [plan.conditions[block.condition]]) {
    if (background) await here(async () => backgrounds(background));
  }
  const rows = rowsOfBlock(plan, block, version, backgrounds);
  await setImmediate(); // lets the news in that the worker is gone
  return rows;
}

async function studyOf(hash: string) {
  const known = studies.get(hash);
  if (known) return known;
  const connection = await connectRedis(url);
  const text = await connection.hget(STUDIES_KEY, hash);
  connection.disconnect();
  if (text === null) throw new Error(`study ${hash} is not under way any more`);
  const { study, files } = JSON.parse(text) as StudyOrder;
  const plan = await here(() => openPlan({ study, files }, loader));
  await here(async () => checkCode(version));
  const opened = { plan, backgrounds: backgroundsOf(plan, bytesOf) };
  studies.set(hash, opened);
  return opened;
}

/** A file that is missing, or another, is this machine's trouble: another worker may have it. */
async function here<T>(work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (error) {
    throw new Error(`${NOT_HERE}${(error as Error).message}`);
  }
}
