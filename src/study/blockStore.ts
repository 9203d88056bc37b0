import type { Block } from './block.ts';
import type { StudyPlan } from './plan.ts';
import type { BlockRows } from './runBlock.ts';
import { StudyError } from './studyError.ts';

/** Where the rows of a study are kept: a folder on disk, or the memory of a page. */
export interface BlockStore {
  plan: StudyPlan;
  /** Of the program that made the rows. */
  version: string;
  /** Whether the rows of a block are there, whole. */
  has(block: Block): boolean;
  /** Keeps the rows of a block, all or nothing. @throws {StudyError} if they are of another study, or cannot be kept */
  store(block: Block, rows: BlockRows): void;
  /** The rows of a block; null if there are none, or none that can be read. */
  rows(block: Block): BlockRows | null;
}

/**
 * Refuses rows that are not of this block, study and version.
 *
 * @throws {StudyError} naming block, rule and what came
 */
export function checkRows(
  { plan, version }: Pick<BlockStore, 'plan' | 'version'>,
  block: Block,
  rows: BlockRows,
): void {
  if (rows.study === plan.hash && rows.block === block.id && rows.version === version) return;
  const got = `${rows.block} of study ${rows.study}, version ${rows.version}`;
  throw new StudyError(`block ${block.id}: rows must be of study ${plan.hash}, version ${version}, got ${got}`);
}
