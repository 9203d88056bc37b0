import { markAttempt } from '../../lessons/mark.ts';
import { verifyAttempt } from '../../lessons/verifyAttempt.ts';
import type { LessonOrder, LessonReply } from '../model/lessonMarking.ts';

const REPORT_MS = 100;

addEventListener('message', ({ data }: MessageEvent<LessonOrder>) => {
  const reply = (message: LessonReply) => postMessage(message);
  try {
    if (data.kind === 'verify') {
      reply({ kind: 'verified', verification: verifyAttempt(data.lesson, data.file, data.program) });
      return;
    }
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
    reply({ kind: 'marked', mark: step.value });
  } catch (error) {
    reply({ kind: 'failed', message: error instanceof Error ? error.message : String(error) });
  }
});
