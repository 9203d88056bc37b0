import type { TaskReply } from './taskClient.ts';
import { startTask, type TaskKind, type Tasks } from './tasks.ts';

const REPORT_MS = 50;

addEventListener('message', ({ data }: MessageEvent<{ kind: TaskKind; order: Tasks[TaskKind]['order'] }>) => {
  const reply = (message: TaskReply) => postMessage(message);
  try {
    const running = startTask(data.kind, data.order);
    let reportedMs = performance.now();
    let step = running.next();
    while (!step.done) {
      if (performance.now() - reportedMs > REPORT_MS) {
        reportedMs = performance.now();
        reply({ kind: 'progress', progress: step.value });
      }
      step = running.next();
    }
    reply({ kind: 'done', result: step.value });
  } catch (error) {
    reply({ kind: 'failed', message: error instanceof Error ? error.message : String(error) });
  }
});
