import type { ReactiveController, ReactiveControllerHost } from 'lit';
import { html, nothing, type TemplateResult } from 'lit';
import { taskInWorker } from '../worker/taskClient.ts';
import type { TaskKind, Tasks } from '../worker/tasks.ts';

/** Where a task stands. */
export type TaskState<Result> =
  | { kind: 'idle' }
  | { kind: 'running'; fraction: number }
  | { kind: 'done'; result: Result }
  | { kind: 'failed'; message: string };

/** The tasks whose progress is a plain fraction. */
type PlainTask = { [Kind in TaskKind]: Tasks[Kind]['progress'] extends number ? Kind : never }[TaskKind];

/** Runs tasks of one kind for an element: the latest counts, older ones end, and none outlives the element. */
export class TaskController<Kind extends PlainTask> implements ReactiveController {
  state: TaskState<Tasks[Kind]['result']> = { kind: 'idle' };
  private readonly host: ReactiveControllerHost;
  private readonly kind: Kind;
  private readonly onDone: () => void;
  private abort: AbortController | null = null;

  constructor(host: ReactiveControllerHost, kind: Kind, onDone: () => void = () => {}) {
    this.host = host;
    this.kind = kind;
    this.onDone = onDone;
    host.addController(this);
  }

  hostDisconnected(): void {
    this.abort?.abort();
  }

  /** The result, while there is one. */
  get result(): Tasks[Kind]['result'] | null {
    return this.state.kind === 'done' ? this.state.result : null;
  }

  /** Begins; what ran before is given up. */
  async start(order: Tasks[Kind]['order']): Promise<void> {
    this.abort?.abort();
    const abort = new AbortController();
    this.abort = abort;
    this.become({ kind: 'running', fraction: 0 });
    try {
      const result = await taskInWorker(
        this.kind,
        order,
        (fraction: number) => {
          if (this.abort === abort) this.become({ kind: 'running', fraction });
        },
        abort.signal,
      );
      if (this.abort === abort) this.become({ kind: 'done', result });
    } catch (error) {
      if (this.abort !== abort) return;
      this.become(abort.signal.aborted ? { kind: 'idle' } : { kind: 'failed', message: (error as Error).message });
    }
    this.onDone();
  }

  /** Ends what runs and forgets the result. */
  clear(): void {
    this.abort?.abort();
    this.abort = null;
    this.become({ kind: 'idle' });
  }

  /** A bar while it runs, a message if it failed. @param label - what runs, for the bar */
  progress(label: string): TemplateResult | typeof nothing {
    if (this.state.kind === 'running') {
      return html`<progress max="1" .value=${this.state.fraction} aria-label=${label}></progress>
        <button @click=${() => this.clear()}>Stop</button>`;
    }
    return this.state.kind === 'failed'
      ? html`<span class="problem" role="alert">${this.state.message}</span>`
      : nothing;
  }

  private become(state: TaskState<Tasks[Kind]['result']>): void {
    this.state = state;
    this.host.requestUpdate();
  }
}
