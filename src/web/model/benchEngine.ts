import type { BenchReply, BenchRequest } from '../worker/protocol.ts';

/** What runs the sweeps for a bench: a worker on the page, something simpler in a test. */
export interface BenchEngine {
  send(request: BenchRequest): void;
  /** Sets the one listener of replies. */
  listen(listener: (reply: BenchReply) => void): void;
  close(): void;
}
