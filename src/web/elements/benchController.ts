import type { ReactiveController, ReactiveControllerHost } from 'lit';
import type { Bench, BenchChange } from '../model/bench.ts';

const CALM = matchMedia('(prefers-reduced-motion: reduce)');
const TEXT_MS = 200; // numbers that change faster cannot be read
const CALM_MS = 500; // at most two changes a second for those who ask for less motion

/** An element that shows a bench. */
export interface BenchHost extends ReactiveControllerHost {
  bench: Bench;
}

/**
 * Keeps an element in step with its bench: settings, view and run at once, the data of a run a few times a second.
 *
 * Pictures may follow the data frame by frame: `onData` is called for each batch, or twice a second where the person
 * has asked for less motion.
 */
export class BenchController implements ReactiveController {
  private readonly host: BenchHost;
  private readonly only: readonly BenchChange[];
  private readonly onChange: (change: BenchChange) => void;
  private end: (() => void) | null = null;
  private timer: ReturnType<typeof setTimeout> | undefined;

  /** @param only - the changes to follow; an element with fields leaves out the data, or typing would be overwritten */
  constructor(
    host: BenchHost,
    onChange: (change: BenchChange) => void = () => {},
    only: readonly BenchChange[] = ['settings', 'run', 'data', 'view'],
  ) {
    this.host = host;
    this.only = only;
    this.onChange = onChange;
    host.addController(this);
  }

  hostConnected(): void {
    this.end = this.host.bench.subscribe((change) => this.follow(change));
  }

  hostDisconnected(): void {
    this.end?.();
    clearTimeout(this.timer);
    this.timer = undefined;
  }

  private follow(change: BenchChange): void {
    if (!this.only.includes(change)) return;
    if (change !== 'data') {
      this.onChange(change);
      this.host.requestUpdate();
      return;
    }
    if (!CALM.matches) this.onChange(change);
    this.timer ??= setTimeout(
      () => {
        this.timer = undefined;
        this.onChange(change);
        this.host.requestUpdate();
      },
      CALM.matches ? CALM_MS : TEXT_MS,
    );
  }
}
