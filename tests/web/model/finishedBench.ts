import { Bench } from '../../../src/web/model/bench.ts';
import type { BenchEngine } from '../../../src/web/model/benchEngine.ts';
import type { BenchReply } from '../../../src/web/worker/protocol.ts';
import { sweepBatcher } from '../../../src/web/worker/sweepBatcher.ts';

/** A bench that has run to the end. */
export function finishedBench(document: object, seed = '3'): Bench {
  let listener: (reply: BenchReply) => void = () => {};
  const engine: BenchEngine = {
    send(request) {
      if (request.kind !== 'start') return;
      const batcher = sweepBatcher(request.run, request.scenario, request.seed, request.lanes);
      while (batcher.addSweep());
      listener(batcher.take());
    },
    listen: (next) => {
      listener = next;
    },
    close: () => {},
  };
  const bench = new Bench(engine, document, seed);
  bench.restart();
  return bench;
}
