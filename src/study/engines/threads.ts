import { Worker } from 'node:worker_threads';
import type { Block } from '../block.ts';
import type { Engine, EngineTask, StudyOrder } from '../engine.ts';
import type { BlockRows } from '../runBlock.ts';
import { StudyError } from '../studyError.ts';
import type { LoaderAddress } from './openPlan.ts';

/** What a thread is told when it starts. */
export interface ThreadOrder extends StudyOrder {
  version: string;
  loader: LoaderAddress;
}

/** What a thread answers. */
export type ThreadAnswer = { block: string; rows: BlockRows } | { block: string; error: string };

/**
 * Room for young objects in each thread, twice the usual. Measured: two threads then spend 64 instead of 78 ms of both
 * cores on a recording, because the collector, which has threads of its own, comes half as often.
 */
const YOUNG_MB = 96;

/**
 * Runs blocks in worker threads, one block at a time each.
 *
 * @param count - number of threads, from 1   @param loader - loads strategies that a study brings along
 */
export function threadsEngine(count: number, loader: LoaderAddress = null): Engine {
  const idle: Worker[] = [];
  const all: Worker[] = [];
  let studyHash = '';

  function threadsFor({ plan, version }: EngineTask): void {
    if (studyHash === plan.hash) return;
    studyHash = plan.hash;
    for (const thread of all.splice(0)) void thread.terminate();
    idle.length = 0;
    for (let k = 0; k < count; k++) {
      const workerData: ThreadOrder = { study: plan.study, files: plan.files, version, loader };
      const resourceLimits = { maxYoungGenerationSizeMb: YOUNG_MB };
      const thread = new Worker(new URL('./thread.mjs', import.meta.url), { workerData, resourceLimits });
      all.push(thread);
      idle.push(thread);
    }
  }

  return {
    label: `${count} thread${count === 1 ? '' : 's'}`,
    async run(task) {
      if (task.blocks.length === 0) return;
      threadsFor(task);
      const waiting = [...task.blocks].reverse();
      let failure: Error | null = null;
      const stopped = () => failure !== null || task.signal.aborted;
      const workers = idle.splice(0).map(async (thread) => {
        let block = waiting.pop();
        let answering = block && answerOf(thread, block, task.signal);
        while (block && answering) {
          const done = block;
          try {
            const answer = await answering;
            if (answer === null) return;
            // The thread goes on while its rows are put on the disk.
            block = stopped() ? undefined : waiting.pop();
            answering = block && answerOf(thread, block, task.signal);
            if ('error' in answer) throw new StudyError(`block ${done.id}: ${answer.error}`);
            task.store(done, answer.rows);
          } catch (error) {
            failure ??= error as Error;
            if (block === done) break;
          }
        }
        idle.push(thread);
      });
      await Promise.all(workers);
      if (failure) throw failure;
    },
    async close() {
      await Promise.all(all.splice(0).map((thread) => thread.terminate()));
      idle.length = 0;
      studyHash = '';
    },
  };
}

/** Sends a block to a thread and waits for its rows; null if the signal comes first. */
function answerOf(thread: Worker, block: Block, signal: AbortSignal): Promise<ThreadAnswer | null> {
  return new Promise((resolve, reject) => {
    const onAnswer = (answer: ThreadAnswer) => settle(() => resolve(answer));
    const onError = (error: Error) => settle(() => reject(new StudyError(error.message)));
    const onExit = (code: number) => settle(() => reject(new StudyError(`a worker thread ended by itself (${code})`)));
    const onAbort = () => settle(() => resolve(null));
    const settle = (finish: () => void) => {
      thread.off('message', onAnswer).off('error', onError).off('exit', onExit);
      signal.removeEventListener('abort', onAbort);
      finish();
    };
    thread.on('message', onAnswer).on('error', onError).on('exit', onExit);
    signal.addEventListener('abort', onAbort);
    thread.postMessage(block);
  });
}
