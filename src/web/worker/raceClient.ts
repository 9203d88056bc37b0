import type { Scenario } from '../../core/scenario/schema.ts';
import type { RaceOrder, RaceProgress, RaceResult } from '../../core/session/race.ts';

/** What the worker of a race tells the page. */
export type RaceReply =
  | { kind: 'progress'; progress: RaceProgress }
  | { kind: 'done'; result: RaceResult }
  | { kind: 'failed'; message: string };

/**
 * Races strategies over replicate patients in a worker of its own.
 *
 * @param onProgress - called about 20 times a second with the fraction done
 * @param signal - aborting it ends the worker at once
 * @returns the result of `race`
 * @throws {Error} with the worker's message if the race fails; the signal's reason if it is aborted
 */
export function raceInWorker(
  scenario: Scenario,
  order: RaceOrder,
  onProgress: (progress: RaceProgress) => void = () => {},
  signal?: AbortSignal,
): Promise<RaceResult> {
  return new Promise((resolve, reject) => {
    if (signal?.aborted) {
      reject(signal.reason);
      return;
    }
    const worker = new Worker(new URL('./race.worker.ts', import.meta.url), { type: 'module' });
    const abort = () => {
      worker.terminate();
      reject(signal?.reason);
    };
    const end = () => {
      worker.terminate();
      signal?.removeEventListener('abort', abort);
    };
    signal?.addEventListener('abort', abort);
    worker.onmessage = ({ data }: MessageEvent<RaceReply>) => {
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
      reject(new Error(event.message || 'the race stopped without a word'));
    };
    worker.postMessage({ scenario, order });
  });
}
