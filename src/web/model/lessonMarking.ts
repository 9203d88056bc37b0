import type { AttemptFile } from '../../lessons/attemptFile.ts';
import type { Attempt, LessonMark, MarkProgress } from '../../lessons/mark.ts';
import type { Lesson } from '../../lessons/schema.ts';
import type { Verification } from '../../lessons/verifyAttempt.ts';

/** What the worker is asked: to mark an attempt, or to verify the file of one. */
export type LessonOrder =
  | { kind: 'mark'; lesson: Lesson; attempt: Attempt }
  | { kind: 'verify'; lesson: Lesson; file: AttemptFile; program: string };

/** What the worker tells the page. */
export type LessonReply =
  | { kind: 'progress'; progress: MarkProgress }
  | { kind: 'marked'; mark: LessonMark }
  | { kind: 'verified'; verification: Verification }
  | { kind: 'failed'; message: string };

/**
 * Marks an attempt in a worker of its own.
 *
 * @param onProgress - called about ten times a second   @param signal - aborting it ends the worker at once
 * @throws {Error} with the worker's message if marking fails; the signal's reason if it is aborted
 */
export async function markInWorker(
  lesson: Lesson,
  attempt: Attempt,
  onProgress: (progress: MarkProgress) => void,
  signal: AbortSignal,
): Promise<LessonMark> {
  const reply = await ask({ kind: 'mark', lesson, attempt }, onProgress, signal);
  if (reply.kind !== 'marked') throw new Error(`markInWorker: reply must be a mark, got ${reply.kind}`);
  return reply.mark;
}

/** Verifies an attempt file in a worker of its own. @throws {Error} with the worker's message if it fails */
export async function verifyInWorker(lesson: Lesson, file: AttemptFile, program: string): Promise<Verification> {
  const reply = await ask({ kind: 'verify', lesson, file, program }, () => {}, new AbortController().signal);
  if (reply.kind !== 'verified') throw new Error(`verifyInWorker: reply must be a verification, got ${reply.kind}`);
  return reply.verification;
}

function ask(
  order: LessonOrder,
  onProgress: (progress: MarkProgress) => void,
  signal: AbortSignal,
): Promise<LessonReply> {
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
    worker.onmessage = ({ data }: MessageEvent<LessonReply>) => {
      if (data.kind === 'progress') {
        onProgress(data.progress);
        return;
      }
      end();
      if (data.kind === 'failed') reject(new Error(data.message));
      else resolve(data);
    };
    worker.onerror = (event) => {
      event.preventDefault();
      end();
      reject(new Error(event.message || 'the marking stopped without a word'));
    };
    worker.postMessage(order);
  });
}
