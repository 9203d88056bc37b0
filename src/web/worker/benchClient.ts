import type { BenchEngine } from '../model/benchEngine.ts';
import type { BenchReply, BenchRequest } from './protocol.ts';

/** Starts the worker of the bench. A worker that dies is reported and replaced at the next start. */
export function benchClient(): BenchEngine {
  let listener: (reply: BenchReply) => void = () => {};
  let worker: Worker | null = null;
  let run = 0;

  function open(): Worker {
    const opened = new Worker(new URL('./bench.worker.ts', import.meta.url), { type: 'module' });
    opened.onmessage = ({ data }: MessageEvent<BenchReply>) => {
      if (data.kind === 'batch') opened.postMessage({ kind: 'received' } satisfies BenchRequest);
      listener(data);
    };
    opened.onerror = (event) => {
      event.preventDefault();
      opened.terminate();
      if (worker === opened) worker = null;
      const message = event.message || 'the simulation stopped without a word';
      listener({ kind: 'failed', run, message, crashed: true });
    };
    return opened;
  }

  return {
    send(request) {
      if (request.kind === 'start') run = request.run;
      worker ??= open();
      worker.postMessage(request);
    },
    listen(next) {
      listener = next;
    },
    close() {
      worker?.terminate();
      worker = null;
    },
  };
}
