import type { TaskKind, Tasks } from './tasks.ts';

/** What the worker of a task tells the page. */
export type TaskReply =
  | { kind: 'progress'; progress: Tasks[TaskKind]['progress'] }
  | { kind: 'done'; result: Tasks[TaskKind]['result'] }
  | { kind: 'failed'; message: string };

/**
 * Does a task in a worker of its own, off the page's thread.
 *
 * @param onProgress - called about 20 times a second with how far it is   @param signal - aborting ends it at once
 * @throws {Error} with the worker's message if it fails; the signal's reason if it is aborted
 */
export function taskInWorker<Kind extends TaskKind>(
  kind: Kind,
  order: Tasks[Kind]['order'],
  onProgress: (progress: Tasks[Kind]['progress']) => void = () => {},
  signal?: AbortSignal,
): Promise<Tasks[Kind]['result']> {
  return new Promise((resolve, reject) => {
    if (signal?.aborted) {
      reject(signal.reason);
      return;
    }
    const worker = new Worker(new URL('./task.worker.ts', import.meta.url), { type: 'module' });
    const end = () => {
      worker.terminate();
      signal?.removeEventListener('abort', abort);
    };
    const abort = () => {
      end();
      reject(signal?.reason);
    };
    signal?.addEventListener('abort', abort);
    worker.onmessage = ({ data }: MessageEvent<TaskReply>) => {
      if (data.kind === 'progress') {
        onProgress(data.progress);
        return;
      }
      end();
      if (data.kind === 'done') resolve(data.result);
      else reject(new Error(data.message));
    };
    worker.onerror = (event) => {
      event.preventDefault();
      end();
      reject(new Error(event.message || 'the simulation stopped without a word'));
    };
    worker.postMessage({ kind, order });
  });
}
