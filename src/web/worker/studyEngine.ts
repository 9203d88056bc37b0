import type { Block } from '../../study/block.ts';
import type { Engine, EngineTask, StudyOrder } from '../../study/engine.ts';
import type { BlockRows } from '../../study/runBlock.ts';
import type { ReportOrder, StudyBytes, StudyReport, StudyTools } from '../model/studySession.ts';

export type StudyRequest =
  | { kind: 'open'; order: StudyOrder; version: string; bytes: StudyBytes }
  | { kind: 'block'; block: Block }
  | { kind: 'report'; order: ReportOrder };

export type StudyReply =
  | { kind: 'rows'; rows: BlockRows }
  | { kind: 'report'; report: StudyReport }
  | { kind: 'failed'; message: string };

/** Runs studies and writes their reports in workers, off the page's own thread. */
export function studyTools(workerCount: number = navigator.hardwareConcurrency || 2): StudyTools {
  return {
    engine: (bytes) => workersEngine(workerCount, bytes),
    async report(order) {
      const worker = openWorker();
      try {
        const reply = await ask(worker, { kind: 'report', order });
        return (reply as StudyReply & { kind: 'report' }).report;
      } finally {
        worker.terminate();
      }
    },
  };
}

/** Runs blocks in web workers, one block at a time each. Stopping ends the workers; the next run starts new ones. */
function workersEngine(count: number, bytes: StudyBytes): Engine {
  const workers: Worker[] = [];
  let openHash = '';

  function workersFor({ plan, version, blocks }: EngineTask): readonly Worker[] {
    if (openHash === plan.hash) return workers;
    openHash = plan.hash;
    for (let k = 0; k < Math.min(count, blocks.length); k++) {
      const worker = openWorker();
      const { study, files } = plan;
      worker.postMessage({ kind: 'open', order: { study, files }, version, bytes } satisfies StudyRequest);
      workers.push(worker);
    }
    return workers;
  }

  return {
    label: `${count} worker${count === 1 ? '' : 's'}`,
    async run(task) {
      const waiting = [...task.blocks].reverse();
      const serve = async (worker: Worker) => {
        for (let block = waiting.pop(); block && !task.signal.aborted; block = waiting.pop()) {
          const reply = await ask(worker, { kind: 'block', block }, task.signal);
          if (reply === null) return;
          task.store(block, (reply as StudyReply & { kind: 'rows' }).rows);
        }
      };
      await Promise.all(workersFor(task).map(serve));
    },
    async close() {
      for (const worker of workers.splice(0)) worker.terminate();
      openHash = '';
    },
  };
}

function openWorker(): Worker {
  return new Worker(new URL('./study.worker.ts', import.meta.url), { type: 'module' });
}

/** Asks a worker and waits for its answer; null if the signal comes first. @throws {Error} with the worker's message */
function ask(worker: Worker, request: StudyRequest, signal?: AbortSignal): Promise<StudyReply | null> {
  return new Promise((resolve, reject) => {
    const onAbort = () => {
      worker.terminate();
      resolve(null);
    };
    signal?.addEventListener('abort', onAbort, { once: true });
    const settle = (finish: () => void) => {
      signal?.removeEventListener('abort', onAbort);
      finish();
    };
    worker.onmessage = ({ data }: MessageEvent<StudyReply>) =>
      settle(() => (data.kind === 'failed' ? reject(new Error(data.message)) : resolve(data)));
    worker.onerror = (event) => {
      event.preventDefault();
      settle(() => reject(new Error(event.message || 'a worker of the study stopped without a word')));
    };
    worker.postMessage(request);
  });
}
