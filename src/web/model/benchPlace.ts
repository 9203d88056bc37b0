import type { Desk } from './desk.ts';

/** Where a bench stands, beside what is on it: how far the run has come, what is looked at, what has been marked. */
export interface BenchPlace {
  /** Sweeps offered; 0 for a run that begins. */
  sweeps: number;
  /** The view by its id; empty for the lanes and the race. */
  view: string;
  /** The sweep looked at; null to follow the newest. */
  selectedSweep: number | null;
  /** Lane, marks by name, ms, and how they were committed; null if they still move. */
  desk: { lane: number; marks: Record<string, number>; committed: { sweeps: number; sealed: boolean } | null };
}

/** What of a bench says where it stands. */
interface StandingBench {
  record: { offeredCount: number };
  view: string;
  selectedSweep: number | null;
  desk: Desk;
}

/** Reads where a bench stands. */
export function placeOf({ record, view, selectedSweep, desk }: StandingBench): BenchPlace {
  const { committed } = desk;
  return {
    sweeps: record.offeredCount,
    view,
    selectedSweep,
    desk: {
      lane: committed?.trace.lane ?? desk.lane,
      marks: { ...(committed?.marks ?? desk.marks) },
      committed: committed && { sweeps: committed.sweeps, sealed: committed.sealed },
    },
  };
}

/** Writes a place into the parameters of a link; what is usual is left out. */
export function writePlace(parameters: URLSearchParams, { sweeps, view, selectedSweep, desk }: BenchPlace): void {
  if (sweeps > 0) parameters.set('sweeps', String(sweeps));
  if (view !== '') parameters.set('view', view);
  if (selectedSweep !== null) parameters.set('look', String(selectedSweep + 1)); // as the page counts
  if (desk.lane > 0) parameters.set('lane', String(desk.lane + 1));
  const marks = Object.entries(desk.marks).map(([name, ms]) => `${name}:${Number(ms.toFixed(4))}`);
  if (marks.length > 0) parameters.set('marks', marks.join(','));
  if (!desk.committed) return;
  parameters.set('committed', String(desk.committed.sweeps));
  if (!desk.committed.sealed) parameters.set('practice', '1');
}

/** Reads what `writePlace` wrote. @throws {RangeError} for a count that is none, or a mark without a latency */
export function readPlace(parameters: URLSearchParams): BenchPlace {
  const sweeps = count(parameters, 'sweeps', 0) ?? 0;
  const look = count(parameters, 'look', 1);
  const committed = count(parameters, 'committed', 1);
  const marks = (parameters.get('marks') ?? '').split(',').filter((text) => text !== '');
  if (committed !== null && !(committed <= sweeps)) {
    throw new RangeError(`committed: must be at most sweeps (${sweeps}), got ${committed}`);
  }
  return {
    sweeps,
    view: parameters.get('view') ?? '',
    selectedSweep: look === null ? null : look - 1,
    desk: {
      lane: (count(parameters, 'lane', 1) ?? 1) - 1,
      marks: Object.fromEntries(marks.map(readMark)),
      committed: committed === null ? null : { sweeps: committed, sealed: parameters.get('practice') !== '1' },
    },
  };
}

function readMark(text: string): [string, number] {
  const [name, ms] = text.split(':');
  const latencyMs = ms ? Number(ms) : NaN;
  if (!name || !Number.isFinite(latencyMs)) throw new RangeError(`marks: must be name:ms, got "${text}"`);
  return [name, latencyMs];
}

function count(parameters: URLSearchParams, key: string, least: number): number | null {
  const text = parameters.get(key);
  if (text === null) return null;
  const value = Number(text);
  if (!(Number.isInteger(value) && value >= least && text !== '')) {
    throw new RangeError(`${key}: must be a whole number from ${least}, got "${text}"`);
  }
  return value;
}
