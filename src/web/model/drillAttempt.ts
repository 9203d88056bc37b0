import { DEFAULT_PRESET, preset } from '../../core/scenario/presets.ts';
import {
  afterDrillEvent,
  type DrillEvent,
  type DrillState,
  freshDrill,
  spentS,
} from '../../lessons/drills/drillLog.ts';
import { drillDocument } from '../../lessons/drills/drillRun.ts';
import { DRILL_LIMIT_S, type Drill } from '../../lessons/drills/drillSchema.ts';
import { BENCH_SEED } from '../../lessons/lessonRun.ts';
import type { Bench } from './bench.ts';

/** Leaves an event without its time, kind by kind. */
type Untimed<Event> = Event extends { atS: number } ? Omit<Event, 'atS'> : never;

/**
 * One learner's five minutes with one drill, on the bench.
 *
 * The bench gets the troubled patient, with truth and settings out of sight. Each remedy puts the same patient there
 * again from second 0, with what was done so far. Every action is an event; one that the rules do not allow changes
 * nothing and is told.
 */
export class DrillAttempt {
  readonly drill: Drill;
  private readonly bench: Bench;
  private readonly clockMs: () => number;
  private readonly begunAtMs: number;
  private state_: DrillState = freshDrill;
  private readonly events_: DrillEvent[] = [];

  constructor(drill: Drill, bench: Bench, clockMs: () => number = Date.now) {
    this.drill = drill;
    this.bench = bench;
    this.clockMs = clockMs;
    this.begunAtMs = clockMs();
    bench.sealTruth(true, true);
    bench.lock([], true);
    this.putOnBench();
  }

  get state(): DrillState {
    return this.state_;
  }

  get events(): readonly DrillEvent[] {
    return this.events_;
  }

  /** Seconds left of the five minutes, not below 0: the learner's own time and the patient's are both taken off. */
  get secondsLeft(): number {
    return Math.max(0, DRILL_LIMIT_S - spentS(this.state_, this.nowS()));
  }

  /** Blames a source. @returns why it was not taken; null if it was */
  name(source: string): string | null {
    return this.add({ kind: 'source', source });
  }

  /** Does something about it, and records again. @returns why it was not taken; null if it was */
  take(remedy: string): string | null {
    const problem = this.add({ kind: 'remedy', remedy });
    if (problem === null) this.putOnBench();
    return problem;
  }

  /** Takes the last remedy back; the time it took stays spent. */
  undo(): string | null {
    const problem = this.add({ kind: 'undo' });
    if (problem === null) this.putOnBench();
    return problem;
  }

  /** Hands the drill in: what holds now is what is marked. */
  finish(): string | null {
    return this.add({ kind: 'finish' });
  }

  /** Shows what was hidden, once the drill is marked. */
  reveal(): void {
    this.bench.sealTruth(false);
    this.bench.lock([]);
  }

  /** Gives the bench back to its user. */
  leave(): void {
    if (this.bench.keepsSecrets) {
      // With the locks off, the trouble could be read: somebody else takes the place.
      this.bench.keep(null);
      this.bench.load(preset(DEFAULT_PRESET), '1');
    }
    this.bench.lock(null);
    this.bench.sealTruth(false);
  }

  private nowS(): number {
    return Math.max(0, (this.clockMs() - this.begunAtMs) / 1000);
  }

  private putOnBench(): void {
    this.bench.load(drillDocument(this.drill, true, this.state_.remedies), BENCH_SEED);
    this.bench.restart();
  }

  private add(untimed: Untimed<DrillEvent>): string | null {
    // Tenths of a second, and never back: a computer's clock may be set while a drill is open.
    const lastS = this.events_[this.events_.length - 1]?.atS ?? 0;
    const event = { atS: Math.max(lastS, Math.round(10 * this.nowS()) / 10), ...untimed } as DrillEvent;
    try {
      this.state_ = afterDrillEvent(this.drill, this.state_, event);
    } catch (error) {
      return (error as Error).message;
    }
    this.events_.push(event);
    return null;
  }
}
