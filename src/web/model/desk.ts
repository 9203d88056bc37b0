import type { ReadPeak } from '../../core/reading/readPeaks.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import {
  type CursorSpan,
  cursorSpan,
  type DeskTrace,
  deskTrace,
  markNames,
  type ReadMarks,
  readMarks,
} from './deskReading.ts';
import type { RunRecord } from './runRecord.ts';

/** A reading that can no longer be changed: the marks, and the trace on which they were put. */
export interface CommittedReading {
  trace: DeskTrace;
  marks: Readonly<Record<string, number>>;
  /** Whether the truth was sealed when the marks were put down; had it been in sight, it was practice. */
  sealed: boolean;
  seconds: number;
  /** Sweeps offered by then. */
  sweeps: number;
}

/** What lies over the trace: another lane, the kept run, or nothing. */
export type Overlay = { kind: 'none' } | { kind: 'lane'; lane: number } | { kind: 'kept' };

/** What the desk needs of its bench. */
interface DeskBench {
  scenario: Scenario;
  record: RunRecord;
  truthSealed: boolean;
  readonly readsBlind: boolean;
  sealHeld: boolean;
  sealTruth(sealed: boolean): void;
}

/**
 * The reading desk: one average, a cursor, marks by name, and whether they are committed.
 *
 * Marks are latencies in ms. Committing keeps them with the trace as it is then, breaks the seal unless a lesson holds
 * it, and leaves errors to be told.
 */
export class Desk {
  lane = 0;
  cursorMs = 5;
  /** Where a second cursor is held, to measure from; null for none. */
  heldMs: number | null = null;
  /** The mark that is put next. */
  chosen = '';
  marks: Record<string, number> = {};
  committed: CommittedReading | null = null;
  overlay: Overlay = { kind: 'none' };
  /** Whether the difference to the overlay is drawn. */
  subtracts = false;
  /** Readings of the two sides, for the asymmetry of a muscle response. */
  readonly sides: Record<'left' | 'right', ReadPeak[] | null> = { left: null, right: null };
  /** Activity before the stimulus on each side, µV. */
  readonly sideActivityUv: Record<'left' | 'right', number> = { left: NaN, right: NaN };
  private readonly bench: DeskBench;
  private readonly tell: () => void;

  constructor(bench: DeskBench, tell: () => void) {
    this.bench = bench;
    this.tell = tell;
  }

  /** The trace that is read: the committed one, or the average as it stands. */
  get trace(): DeskTrace {
    return (
      this.committed?.trace ?? deskTrace(this.bench.record, Math.min(this.lane, this.bench.record.lanes.length - 1))
    );
  }

  /** What the marks say about the trace. */
  get reading(): ReadMarks {
    return readMarks(this.bench.scenario, this.trace, this.marks);
  }

  /** The mark that Enter puts down: the chosen one if it belongs to this response, else the first. */
  get nextMark(): string {
    const names = markNames(this.bench.scenario);
    return names.includes(this.chosen) ? this.chosen : (names[0] ?? '');
  }

  choose(change: Partial<Pick<Desk, 'lane' | 'chosen' | 'overlay' | 'subtracts'>>): void {
    Object.assign(this, change);
    this.tell();
  }

  moveCursor(toMs: number): void {
    const { preMs, postMs } = this.bench.scenario.window;
    this.cursorMs = Math.min(postMs, Math.max(-preMs, toMs));
    this.tell();
  }

  /** Holds a second cursor where the first one is, or lets it go. */
  holdCursor(): void {
    this.heldMs = this.heldMs === null ? this.cursorMs : null;
    this.tell();
  }

  /** From the held cursor to the moving one; null while none is held. */
  get span(): CursorSpan | null {
    return this.heldMs === null ? null : cursorSpan(this.bench.scenario, this.trace, this.heldMs, this.cursorMs);
  }

  /** Puts the mark at the cursor and goes on to the next name. */
  put(name: string = this.nextMark): void {
    if (this.committed || name === '') return;
    this.marks = { ...this.marks, [name]: this.cursorMs };
    const names = markNames(this.bench.scenario);
    this.chosen = names[(names.indexOf(name) + 1) % names.length];
    this.tell();
  }

  /** Puts several marks at once, for instance those that the rule finds. */
  putAll(marks: Record<string, number>): void {
    if (this.committed) return;
    this.marks = { ...this.marks, ...marks };
    this.tell();
  }

  remove(name: string): void {
    if (this.committed) return;
    const { [name]: _removed, ...rest } = this.marks;
    this.marks = rest;
    this.tell();
  }

  /** Commits the marks; then the truth may be seen. */
  commit(): void {
    const { bench } = this;
    this.committed = {
      trace: this.trace,
      marks: { ...this.marks },
      sealed: bench.readsBlind,
      seconds: bench.record.seconds,
      sweeps: bench.record.offeredCount,
    };
    if (bench.truthSealed && !bench.sealHeld) bench.sealTruth(false);
    else this.tell();
  }

  /** Puts back marks that still move. */
  putBack(lane: number, marks: Readonly<Record<string, number>>): void {
    this.committed = null;
    this.lane = lane;
    this.marks = { ...marks };
    this.tell();
  }

  /** Puts back that the marks were committed, on the trace as it stands. @param sealed - whether it was no practice */
  putBackCommitted(sealed: boolean): void {
    const { seconds, offeredCount } = this.bench.record;
    this.committed = { trace: this.trace, marks: { ...this.marks }, sealed, seconds, sweeps: offeredCount };
    this.tell();
  }

  /** Clears the desk for another reading. */
  startAgain(): void {
    this.committed = null;
    this.marks = {};
    this.tell();
  }

  /** Keeps what is read now as one side. */
  keepSide(side: 'left' | 'right'): void {
    this.sides[side] = this.reading.peaks;
    this.sideActivityUv[side] = this.trace.rectifiedUv;
    this.tell();
  }
}
