import type { BenchReply, BenchRequest, Speed } from './protocol.ts';
import { batchBuffers, type SweepBatcher, sweepBatcher } from './sweepBatcher.ts';

const TICK_MS = 33; // about 30 batches a second: more than the eye needs
const BUDGET_MS = 24; // of a tick may be spent on sweeps, so that messages still get in
const REPLAY_MS = 100; // of sweeps in one batch of a replay
const MAX_UNRECEIVED = 2; // batches on their way: a slow page slows the bench instead of filling the memory
const MAX_BACKLOG_S = 0.25; // wall time that a busy machine may catch up; more is forgotten

let batcher: SweepBatcher | null = null;
let run = 0;
let ratePerS = 1;
let speed: Speed = null;
let running = false;
let owedSweeps = 0;
let replaySweeps = 0; // still to be run at once
let lastTickMs = 0;
let unreceived = 0;
let timer: ReturnType<typeof setTimeout> | undefined;

addEventListener('message', ({ data }: MessageEvent<BenchRequest>) => {
  switch (data.kind) {
    case 'start':
      run = data.run;
      ratePerS = data.scenario.stimulus.ratePerS;
      speed = data.speed;
      running = data.running;
      unreceived = 0;
      replaySweeps = data.replaySweeps;
      attempt(() => {
        batcher = sweepBatcher(data.run, data.scenario, data.seed, data.lanes);
      });
      schedule();
      return;
    case 'speed':
      speed = data.speed;
      owedSweeps = 0;
      return;
    case 'run':
      running = true;
      schedule();
      return;
    case 'pause':
      running = false;
      if (replaySweeps === 0) clearTimeout(timer);
      return;
    case 'step':
      running = false;
      clearTimeout(timer);
      attempt(() => {
        if (batcher?.addSweep()) send(batcher);
      });
      return;
    case 'received':
      unreceived = Math.max(0, unreceived - 1);
      return;
    default:
      data satisfies never;
  }
});

function schedule(): void {
  clearTimeout(timer);
  owedSweeps = 0;
  lastTickMs = performance.now();
  if (running || replaySweeps > 0) timer = setTimeout(tick, 0);
}

function tick(): void {
  if (replaySweeps > 0) {
    replay();
    return;
  }
  const startMs = performance.now();
  const elapsedS = Math.min(MAX_BACKLOG_S, (startMs - lastTickMs) / 1000);
  lastTickMs = startMs;
  owedSweeps =
    speed === null
      ? Infinity
      : Math.min(owedSweeps + elapsedS * speed * ratePerS, MAX_BACKLOG_S * speed * ratePerS + 1);
  attempt(() => {
    if (!batcher || unreceived >= MAX_UNRECEIVED) return;
    while (owedSweeps >= 1 && performance.now() - startMs < BUDGET_MS) {
      if (!batcher.addSweep()) {
        running = false;
        break;
      }
      owedSweeps--;
    }
    if (batcher.pendingCount() > 0) send(batcher);
  });
  if (running) timer = setTimeout(tick, Math.max(0, TICK_MS - (performance.now() - startMs)));
}

/** Runs what another run had already shown, a batch at a time so that messages get in; then goes on as usual. */
function replay(): void {
  const startMs = performance.now();
  attempt(() => {
    if (!batcher || unreceived >= MAX_UNRECEIVED) return;
    while (replaySweeps > 0 && performance.now() - startMs < REPLAY_MS) {
      replaySweeps = batcher.addSweep() ? replaySweeps - 1 : 0;
    }
    if (batcher.pendingCount() > 0) send(batcher);
  });
  if (replaySweeps > 0) timer = setTimeout(tick, 0);
  else schedule();
}

function send(from: SweepBatcher): void {
  const batch = from.take();
  if (batch.finished) running = false;
  unreceived++;
  reply(batch, batchBuffers(batch));
}

/** A failure inside the simulation is told to the page, which offers to restart. */
function attempt(work: () => void): void {
  try {
    work();
  } catch (error) {
    running = false;
    replaySweeps = 0;
    batcher = null;
    reply({ kind: 'failed', run, message: error instanceof Error ? error.message : String(error) }, []);
  }
}

function reply(message: BenchReply, transfer: ArrayBuffer[]): void {
  postMessage(message, { transfer });
}
