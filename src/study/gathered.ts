import type { Block } from './block.ts';
import { type Measure, studyMeasure, studyMeasures } from './measures.ts';
import type { StudyPlan } from './plan.ts';
import type { BlockRows } from './runBlock.ts';
import type { Scalar } from './schema.ts';

/** The runs of one setting in one condition; the lists run in step, by replicate. */
export interface CellRuns {
  replicates: Uint32Array;
  /** 0 or 1. */
  catastrophes: Uint8Array;
  /** By measure, those that the study needs; NaN for unknown. */
  values: ReadonlyMap<Measure, Float64Array>;
}

/** The figures of a study so far: eight bytes for each measure that it needs, and five more a row. */
export interface Gathered {
  add(block: Block, rows: BlockRows): void;
  /** The runs of a setting in a condition; empty lists if there are none. Views: take them anew after `add`. */
  cell(condition: number, setting: number): CellRuns;
  /** What was drawn for the patients of a condition, by replicate. */
  drawn(condition: number): { replicate: number; values: Record<string, Scalar> }[];
  /** Patients recorded so far. */
  recordingCount(): number;
  rowCount(): number;
}

/** Room for the runs of one cell, and how much of it is taken. */
interface CellRoom {
  count: number;
  replicates: Uint32Array;
  catastrophes: Uint8Array;
  values: Float64Array[];
}

const FIRST_ROOM = 8;

/** Makes an empty collection. Blocks must come in the order of the plan: sums of doubles depend on their order. */
export function gatherRows(plan: StudyPlan): Gathered {
  const needed = neededMeasures(plan);
  const places = needed.map((measure) => 1 + studyMeasures.indexOf(measure));
  const rooms = new Map<number, CellRoom>();
  const drawn = plan.conditions.map(() => new Map<number, Record<string, Scalar>>());
  const recorded = plan.conditions.map(() => new Set<number>());
  let rowCount = 0;
  const key = (condition: number, setting: number) => condition * plan.settings.length + setting;
  const nothing = viewOf(roomFor(needed.length, 0), needed);
  return {
    add(block, rows) {
      for (const patient of rows.patients) {
        recorded[block.condition].add(patient.replicate);
        if (Object.keys(patient.drawn).length > 0) drawn[block.condition].set(patient.replicate, patient.drawn);
        for (const [k, setting] of block.settings.entries()) {
          const at = key(block.condition, setting);
          const room = roomy(rooms.get(at) ?? roomFor(needed.length, FIRST_ROOM));
          rooms.set(at, room);
          const figures = patient.figures[k];
          room.replicates[room.count] = patient.replicate;
          room.catastrophes[room.count] = figures[0] as number;
          for (const [m, place] of places.entries()) room.values[m][room.count] = figures[place] ?? NaN;
          room.count++;
          rowCount++;
        }
      }
    },
    cell(condition, setting) {
      const room = rooms.get(key(condition, setting));
      return room ? viewOf(room, needed) : nothing;
    },
    drawn: (condition) => [...drawn[condition]].map(([replicate, values]) => ({ replicate, values })),
    recordingCount: () => recorded.reduce((sum, { size }) => sum + size, 0),
    rowCount: () => rowCount,
  };
}

/** The figures of one measure in a cell. */
export function valuesOfMeasure(cell: CellRuns, measure: Measure): Float64Array {
  const values = cell.values.get(measure);
  if (values) return values;
  throw new RangeError(`valuesOfMeasure: must be a measure that the study needs, got ${measure.id}`);
}

/** What is asked for, what the choice and the precision look at, and what every report weighs against each other. */
function neededMeasures({ measures, choose, replicates }: StudyPlan): Measure[] {
  const always = ['residual-noise', 'seconds-to-target', 'gain'].map(studyMeasure);
  const until = replicates.until ? [replicates.until.measure] : [];
  return [...new Set([...measures, choose.measure, ...until, ...always])];
}

function roomFor(measureCount: number, size: number): CellRoom {
  return {
    count: 0,
    replicates: new Uint32Array(size),
    catastrophes: new Uint8Array(size),
    values: Array.from({ length: measureCount }, () => new Float64Array(size)),
  };
}

/** The room itself, or one of half as much again with the same in it. */
function roomy(room: CellRoom): CellRoom {
  if (room.count < room.replicates.length) return room;
  const larger = roomFor(room.values.length, Math.ceil(1.5 * room.count));
  larger.count = room.count;
  larger.replicates.set(room.replicates);
  larger.catastrophes.set(room.catastrophes);
  for (const [m, values] of room.values.entries()) larger.values[m].set(values);
  return larger;
}

function viewOf({ count, replicates, catastrophes, values }: CellRoom, needed: readonly Measure[]): CellRuns {
  return {
    replicates: replicates.subarray(0, count),
    catastrophes: catastrophes.subarray(0, count),
    values: new Map(needed.map((measure, m) => [measure, values[m].subarray(0, count)])),
  };
}
