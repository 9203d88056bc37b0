import type { Scenario } from '../../core/scenario/schema.ts';
import type { SessionFileOrder } from '../../formats/sessionFile.ts';

/** What the page asks of the worker that writes recordings. */
export interface ExportRequest {
  scenario: Scenario;
  seed: string;
  order: SessionFileOrder;
}

/** What the worker answers: pieces of the file as they come, then the start of it. */
export type ExportReply =
  | { kind: 'progress'; fraction: number }
  | { kind: 'done'; file: Blob; clippedCount: number }
  | { kind: 'failed'; message: string };

/**
 * Writes the recording of a run in a worker of its own.
 *
 * @param onProgress - called a few times a second with the fraction done   @param signal - aborting it ends the worker
 * @throws {Error} with the worker's message if it cannot be written; the signal's reason if it is aborted
 */
export function writeInWorker(
  request: ExportRequest,
  onProgress: (fraction: number) => void,
  signal: AbortSignal,
): Promise<{ file: Blob; clippedCount: number }> {
  return new Promise((resolve, reject) => {
    signal.throwIfAborted();
    const worker = new Worker(new URL('./export.worker.ts', import.meta.url), { type: 'module' });
    const end = () => {
      worker.terminate();
      signal.removeEventListener('abort', abort);
    };
    const abort = () => {
      end();
      reject(signal.reason);
    };
    signal.addEventListener('abort', abort);
    worker.onmessage = ({ data }: MessageEvent<ExportReply>) => {
      if (data.kind === 'progress') {
        onProgress(data.fraction);
        return;
      }
      end();
      if (data.kind === 'done') resolve(data);
      else reject(new Error(data.message));
    };
    worker.onerror = (event) => {
      event.preventDefault();
      end();
      reject(new Error(event.message || 'the writing stopped without a word'));
    };
    worker.postMessage(request);
  });
}
