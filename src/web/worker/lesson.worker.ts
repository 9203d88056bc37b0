import { type Attempt, markAttempt } from '../../lessons/mark.ts';
import type { Lesson } from '../../lessons/schema.ts';
import type { MarkReply } from '../model/lessonMarking.ts';

const REPORT_MS = 100;

addEventListener('message', ({ data }: MessageEvent<{ lesson: Lesson; attempt: Attempt }>) => {
  const reply = (message: MarkReply) => postMessage(message);
  try {
    const marking = markAttempt(data.lesson, data.attempt);
    let reportedMs = performance.now();
    let step = marking.next();
    while (!step.done) {
      if (performance.now() - reportedMs > REPORT_MS) {
        reportedMs = performance.now();
        reply({ kind: 'progress', progress: step.value });
      }
      step = marking.next();
    }
    reply({ kind: 'done', mark: step.value });
  } catch (error) {
    reply({ kind: 'failed', message: error instanceof Error ? error.message : String(error) });
  }
});
