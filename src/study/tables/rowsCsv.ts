import type { Block } from '../block.ts';
import type { StudyPlan } from '../plan.ts';
import type { BlockRows } from '../runBlock.ts';
import { columnsOf, tableRows } from './columns.ts';
import { csvLine } from './csv.ts';

/** The first line of the table of rows. */
export function csvHeader(plan: StudyPlan): string {
  return `${csvLine(columnsOf(plan).map(({ name }) => name))}\n`;
}

/** The lines of a block in the table of rows. */
export function csvOfBlock(plan: StudyPlan, block: Block, rows: BlockRows): string {
  return tableRows(plan, block, rows)
    .map((row) => `${csvLine(row)}\n`)
    .join('');
}
