import type { Block } from './block.ts';
import { type Measure, studyMeasures } from './measures.ts';
import type { StudyPlan } from './plan.ts';
import type { BlockRows } from './runBlock.ts';
import type { Scalar } from './schema.ts';

/** The runs of one setting in one condition; the lists run in step, by replicate. */
export interface CellRuns {
  replicates: number[];
  catastrophes: number[];
  /** [measure, in the order of the list of measures][run]; NaN for unknown. */
  values: number[][];
}

/** The figures of a study so far, eight bytes each, by condition and setting. */
export interface Gathered {
  add(block: Block, rows: BlockRows): void;
  /** The runs of a setting in a condition; empty lists if there are none. */
  cell(condition: number, setting: number): CellRuns;
  /** What was drawn for the patients of a condition, by replicate. */
  drawn(condition: number): { replicate: number; values: Record<string, Scalar> }[];
  /** Patients recorded so far. */
  recordingCount(): number;
  rowCount(): number;
}

const NOTHING: CellRuns = { replicates: [], catastrophes: [], values: studyMeasures.map(() => []) };

/** Makes an empty collection. Blocks must come in the order of the plan: sums of doubles depend on their order. */
export function gatherRows(plan: StudyPlan): Gathered {
  const cells = new Map<number, CellRuns>();
  const drawn = plan.conditions.map(() => new Map<number, Record<string, Scalar>>());
  const recorded = plan.conditions.map(() => new Set<number>());
  let rowCount = 0;
  const key = (condition: number, setting: number) => condition * plan.settings.length + setting;
  return {
    add(block, rows) {
      for (const patient of rows.patients) {
        recorded[block.condition].add(patient.replicate);
        if (Object.keys(patient.drawn).length > 0) drawn[block.condition].set(patient.replicate, patient.drawn);
        for (const [k, setting] of block.settings.entries()) {
          let cell = cells.get(key(block.condition, setting));
          if (!cell) {
            cell = { replicates: [], catastrophes: [], values: studyMeasures.map(() => []) };
            cells.set(key(block.condition, setting), cell);
          }
          const [catastrophe, ...values] = patient.figures[k];
          cell.replicates.push(patient.replicate);
          cell.catastrophes.push(catastrophe as number);
          for (const [m, value] of values.entries()) cell.values[m].push(value ?? NaN);
          rowCount++;
        }
      }
    },
    cell: (condition, setting) => cells.get(key(condition, setting)) ?? NOTHING,
    drawn: (condition) => [...drawn[condition]].map(([replicate, values]) => ({ replicate, values })),
    recordingCount: () => recorded.reduce((sum, { size }) => sum + size, 0),
    rowCount: () => rowCount,
  };
}

/** The figures of one measure in a cell. */
export function valuesOfMeasure(cell: CellRuns, measure: Measure): number[] {
  return cell.values[studyMeasures.indexOf(measure)];
}
