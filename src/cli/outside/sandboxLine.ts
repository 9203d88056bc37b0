import { fileURLToPath } from 'node:url';
import { MessageChannel, receiveMessageOnPort, Worker } from 'node:worker_threads';
import { UsageError } from '../arguments.ts';

/** What is sent into the sandbox. */
interface SandboxCall {
  call: string;
  key?: number;
  one?: string;
  two?: string;
  code?: string;
  name?: string;
  sweepUv?: Float64Array;
  intervalUv?: Float64Array;
  /** Buffers wanted back: 0 none, 1 the average, 2 the pair. */
  wants?: 0 | 1 | 2;
  /** Length of these buffers. */
  length?: number;
}

/** What comes back. */
interface SandboxAnswer {
  /** One line of numbers for each verdict told. */
  verdicts: string[];
  answer: string;
  outputs: Float64Array[];
}

/** What the process sends. */
interface Received {
  reply?: string;
  outputs?: Float64Array[];
  /** Processor time that the process has taken so far, ms. */
  spentMs?: number;
  gone?: string;
}

/** A line into the sandbox on which one can wait for the answer. */
export interface SandboxLine {
  /**
   * Calls and waits. @param what - the call in words, for refusals: `add at sweep 17`
   * @throws {UsageError} if the strategy throws, takes longer than `limitMs` or in all more than it is allowed, or has
   * ended: strategy, call and reason
   */
  ask(what: string, call: SandboxCall, limitMs: number): SandboxAnswer;
  /** Sends without waiting for an answer. */
  tell(call: SandboxCall): void;
  /** Closes the line and throws. @throws {UsageError} with strategy, call and reason */
  fail(what: string, reason: string): never;
  close(): void;
}

const LARGEST_MB = 256; // our choice: thousands of sweeps fit
const LARGEST_DATA_MB = 640; // our choice: the same, and what Node itself needs before it clears away
const SPENT_MS = { atFirst: 20000, perCall: 10 }; // our choice: a hundred times what the lab's own strategies take
const path = (name: string) => fileURLToPath(new URL(name, import.meta.url));

/** What Node is told about the process of the sandbox: what it may read, how much memory it gets, no code from text. */
export function sandboxFlags(): string[] {
  const permission = process.allowedNodeEnvironmentFlags.has('--permission')
    ? '--permission'
    : '--experimental-permission';
  return [
    ...[permission, `--allow-fs-read=${path('sandbox.mjs')}`, '--no-warnings'],
    ...[`--max-old-space-size=${LARGEST_MB}`, '--disallow-code-generation-from-strings'],
  ];
}

/**
 * The command that starts the process of the sandbox.
 *
 * Node's limit is on objects only; sample buffers lie outside it, and a single call can ask for any number of them. So
 * the kernel limits all data where it can (Linux); elsewhere what is held is looked at every few calls.
 */
function sandboxCommand(): string[] {
  const node = [process.execPath, ...sandboxFlags(), path('sandbox.mjs'), String(LARGEST_MB)];
  if (process.platform !== 'linux') return node;
  return ['/bin/sh', '-c', `ulimit -d ${1024 * LARGEST_DATA_MB} && exec "$@"`, 'sh', ...node];
}

/**
 * Opens a sandbox: a process that may do nothing, behind a thread that waits for it.
 *
 * @param strategy - for refusals   @param spent - processor time it may take in all, ms: at first, and more for each call
 */
export function sandboxLine(strategy: string, spent = SPENT_MS): SandboxLine {
  const state = new Int32Array(new SharedArrayBuffer(8)); // [answered, process id]
  const { port1: near, port2: far } = new MessageChannel();
  const worker = new Worker(path('bridge.mjs'), {
    workerData: { state, port: far, command: sandboxCommand() },
    transferList: [far],
    execArgv: [],
  });
  worker.unref();
  near.unref();
  let over = '';
  let calls = 0;
  let unanswered = 0; // calls whose answers nobody waits for

  function close(): void {
    const processId = Atomics.load(state, 1);
    // A loop without end hears nothing, so it is ended from outside.
    if (processId > 0 && over === '') {
      try {
        process.kill(processId, 'SIGKILL');
      } catch {
        // It has ended by itself.
      }
    }
    over ||= 'it has been closed';
    void worker.terminate();
  }

  function fail(what: string, reason: string): never {
    close();
    throw new UsageError(`strategy ${strategy}: ${what}: ${reason}`);
  }

  function receive(what: string, limitMs: number): Received {
    const until = performance.now() + limitMs;
    for (;;) {
      const received = receiveMessageOnPort(near);
      if (received) return received.message;
      Atomics.store(state, 0, 0);
      const late = receiveMessageOnPort(near); // it may have come just before the flag was lowered
      if (late) return late.message;
      const leftMs = until - performance.now();
      if (leftMs <= 0 || Atomics.wait(state, 0, 0, leftMs) === 'timed-out') {
        fail(what, `took longer than ${limitMs} ms`);
      }
    }
  }

  return {
    ask(what, call, limitMs) {
      if (over) fail(what, over);
      near.postMessage(call);
      for (; unanswered > 0; unanswered--) receive(what, limitMs);
      const { reply, outputs = [], spentMs = 0, gone } = receive(what, limitMs);
      calls++;
      if (gone !== undefined) {
        over = `the strategy's process has ended (${gone})`;
        fail(what, over);
      }
      const allowedMs = spent.atFirst + spent.perCall * calls;
      if (spentMs > allowedMs) {
        const took = `took ${(spentMs / 1000).toFixed(1)} s of processor time in ${calls} calls`;
        fail(what, `${took}, more than the ${(allowedMs / 1000).toFixed(1)} s allowed for them`);
      }
      const [state0, verdicts, ...rest] = (reply ?? '').split('\n');
      if (state0 !== 'ok') fail(what, [verdicts, ...rest].join(' '));
      return { verdicts: verdicts === '' ? [] : verdicts.split(';'), answer: rest.join('\n'), outputs };
    },
    tell(call) {
      if (over) return;
      near.postMessage(call);
      unanswered++;
    },
    fail,
    close,
  };
}
