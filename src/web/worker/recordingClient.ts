import type { ImplantOrder, ImplantResult } from '../../core/session/implant.ts';
import type { LaneSetting } from '../../core/session/lanes.ts';
import type { RecordingOrder } from '../../core/session/recordingOrder.ts';
import type { RecordingResult } from '../../core/session/recordingRun.ts';
import type { ReadRecordingOptions, StimulusChoice } from '../../formats/index.ts';

/** What a set of recording files holds. */
export interface RecordingContents {
  /** File names with their formats. */
  names: string[];
  warnings: string[];
  channels: { label: string; unit: string; sampleRateHz: number; durationS: number }[];
  events: { selector: string; eventCount: number }[];
}

export type RecordingRequest =
  | { kind: 'read'; files: { name: string; bytes: Uint8Array }[]; options: ReadRecordingOptions }
  | { kind: 'run'; channel: string; stimuli: readonly StimulusChoice[]; order: RecordingOrder }
  | { kind: 'implant'; channel: string; order: ImplantOrder; seed: string; lanes: readonly LaneSetting[] };

export type RecordingReply =
  | { kind: 'read'; contents: RecordingContents }
  | { kind: 'ran'; result: RecordingResult }
  | { kind: 'implanted'; result: ImplantResult }
  | { kind: 'failed'; message: string };

/** Reads recordings and runs strategies on them, off the page's own thread. */
export interface RecordingClient {
  /** @throws {Error} with the one clear message of the reader */
  read(files: { name: string; bytes: Uint8Array }[], options: ReadRecordingOptions): Promise<RecordingContents>;
  /** @throws {Error} naming the rule that the order breaks */
  run(channel: string, stimuli: readonly StimulusChoice[], order: RecordingOrder): Promise<RecordingResult>;
  /** Puts a known response into one channel and runs lanes on it. @throws {Error} naming the rule that is broken */
  implant(channel: string, order: ImplantOrder, seed: string, lanes: readonly LaneSetting[]): Promise<ImplantResult>;
  close(): void;
}

/** Opens a worker for one set of files. Requests are answered in order; close it to stop. */
export function recordingClient(): RecordingClient {
  const worker = new Worker(new URL('./recording.worker.ts', import.meta.url), { type: 'module' });
  const waiting: ((reply: RecordingReply) => void)[] = [];
  worker.onmessage = ({ data }: MessageEvent<RecordingReply>) => waiting.shift()?.(data);
  worker.onerror = (event) => {
    event.preventDefault();
    waiting.shift()?.({ kind: 'failed', message: event.message || 'the reader stopped without a word' });
  };

  function ask(request: RecordingRequest): Promise<RecordingReply> {
    return new Promise((resolve, reject) => {
      waiting.push((reply) => (reply.kind === 'failed' ? reject(new Error(reply.message)) : resolve(reply)));
      worker.postMessage(request);
    });
  }

  return {
    async read(files, options) {
      const reply = await ask({ kind: 'read', files, options });
      return (reply as RecordingReply & { kind: 'read' }).contents;
    },
    async run(channel, stimuli, order) {
      const reply = await ask({ kind: 'run', channel, stimuli, order });
      return (reply as RecordingReply & { kind: 'ran' }).result;
    },
    async implant(channel, order, seed, lanes) {
      const reply = await ask({ kind: 'implant', channel, order, seed, lanes });
      return (reply as RecordingReply & { kind: 'implanted' }).result;
    },
    close() {
      worker.terminate();
    },
  };
}
