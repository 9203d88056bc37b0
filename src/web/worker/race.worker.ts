import type { Scenario } from '../../core/scenario/schema.ts';
import { racingLanesOf } from '../../core/session/lanes.ts';
import { type RaceOrder, race } from '../../core/session/race.ts';
import type { RaceReply } from './raceClient.ts';

const REPORT_MS = 50;

addEventListener('message', ({ data }: MessageEvent<{ scenario: Scenario; order: RaceOrder }>) => {
  const reply = (message: RaceReply) => postMessage(message);
  try {
    const running = race(data.scenario, { lanes: racingLanesOf(data.scenario), ...data.order });
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
