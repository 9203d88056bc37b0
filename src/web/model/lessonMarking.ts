import type { Attempt, LessonMark, MarkProgress } from '../../lessons/mark.ts';
import type { Lesson } from '../../lessons/schema.ts';

/** What the worker that marks tells the page. */
export type MarkReply =
  | { kind: 'progress'; progress: MarkProgress }
  | { kind: 'done'; mark: LessonMark }
  | { kind: 'failed'; message: string };

/**
 * Marks an attempt in a worker of its own.
 *
 * @param onProgress - called about ten times a second   @param signal - aborting it ends the worker at once
 * @throws {Error} with the worker's message if marking fails; the signal's reason if it is aborted
 */
export function markInWorker(
  lesson: Lesson,
  attempt: Attempt,
  onProgress: (progress: MarkProgress) => void,
  signal: AbortSignal,
): Promise<LessonMark> {
  return new Promise((resolve, reject) => {
    signal.throwIfAborted();
    const worker = new Worker(new URL('../worker/lesson.worker.ts', import.meta.url), { type: 'module' });
    const end = () => {
      worker.terminate();
      signal.removeEventListener('abort', abort);
    };
    const abort = () => {
      end();
      reject(signal.reason);
    };
    signal.addEventListener('abort', abort);
    worker.onmessage = ({ data }: MessageEvent<MarkReply>) => {
      if (data.kind === 'progress') {
        onProgress(data.progress);
        return;
      }
      end();
      if (data.kind === 'done') resolve(data.mark);
      else reject(new Error(data.message));
    };
    worker.onerror = (event) => {
      event.preventDefault();
      end();
      reject(new Error(event.message || 'the marking stopped without a word'));
    };
    worker.postMessage({ lesson, attempt });
  });
}
