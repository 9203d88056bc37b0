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

/** A line into the sandbox on which one can wait for the answer. */
export interface SandboxLine {
  /**
   * Calls and waits. @param what - the call in words, for refusals: `add at sweep 17`
   * @throws {UsageError} if the strategy throws, takes longer than `limitMs`, or has ended: strategy, call and reason
   */
  ask(what: string, call: SandboxCall, limitMs: number): SandboxAnswer;
  /** Sends without waiting for an answer. */
  tell(call: SandboxCall): void;
  close(): void;
}

const LARGEST_HEAP_MB = 256; // our choice: thousands of sweeps fit
const path = (name: string) => fileURLToPath(new URL(name, import.meta.url));

/** What Node is told about the process of the sandbox: what it may read, how much memory it gets, no code from text. */
export function sandboxFlags(): string[] {
  const permission = process.allowedNodeEnvironmentFlags.has('--permission')
    ? '--permission'
    : '--experimental-permission';
  return [
    ...[permission, `--allow-fs-read=${path('sandbox.mjs')}`, '--no-warnings'],
    ...[`--max-old-space-size=${LARGEST_HEAP_MB}`, '--disallow-code-generation-from-strings'],
  ];
}

/** Opens a sandbox: a process that may do nothing, behind a thread that waits for it. @param strategy - for refusals */
export function sandboxLine(strategy: string): SandboxLine {
  const state = new Int32Array(new SharedArrayBuffer(8)); // [answered, process id]
  const { port1: near, port2: far } = new MessageChannel();
  const worker = new Worker(path('bridge.mjs'), {
    workerData: { state, port: far, sandbox: path('sandbox.mjs'), execArgv: sandboxFlags() },
    transferList: [far],
    execArgv: [],
  });
  worker.unref();
  near.unref();
  let over = '';
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

  function receive(what: string, limitMs: number): { reply?: string; outputs?: Float64Array[]; gone?: string } {
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
      const { reply, outputs = [], gone } = receive(what, limitMs);
      if (gone !== undefined) {
        over = `the strategy's process has ended (${gone})`;
        fail(what, over);
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
    close,
  };
}
