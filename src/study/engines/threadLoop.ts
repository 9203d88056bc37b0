import { parentPort, workerData } from 'node:worker_threads';
import { backgroundsOf } from '../backgrounds.ts';
import type { Block } from '../block.ts';
import { rowsOfBlock } from '../runBlock.ts';
import { checkCode } from './codeVersion.ts';
import { bytesOf, openPlan } from './openPlan.ts';
import type { ThreadAnswer, ThreadOrder } from './threads.ts';

/** The loop of a worker thread: a block comes, its rows go back. */
const { study, files, version, loader } = workerData as ThreadOrder;
const plan = await openPlan({ study, files }, loader);
const backgrounds = backgroundsOf(plan, bytesOf);
checkCode(version);

parentPort?.on('message', (block: Block) => {
  let answer: ThreadAnswer;
  try {
    answer = { block: block.id, rows: rowsOfBlock(plan, block, version, backgrounds) };
  } catch (error) {
    answer = { block: block.id, error: (error as Error).message };
  }
  parentPort?.postMessage(answer);
});
