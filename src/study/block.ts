import { jsonHash } from './contentHash.ts';
import type { StudyPlan } from './plan.ts';

/**
 * The unit of work: some replicates of one condition, past some settings.
 *
 * What it gives depends on the study, the block and the version of the program, on nothing else, so it may be run
 * anywhere, and twice.
 */
export interface Block {
  /** Hash of study, cell and seed block: file name, and job id in a queue. */
  id: string;
  condition: number;
  firstReplicate: number;
  replicateCount: number;
  /** Numbers of the settings, rising. */
  settings: number[];
}

/** Names a block by its content. */
function makeBlock(plan: StudyPlan, cell: Omit<Block, 'id'>): Block {
  const { condition, firstReplicate, replicateCount, settings } = cell;
  const parts = [
    plan.hash,
    plan.conditions[condition].id,
    firstReplicate,
    replicateCount,
    settings.map((k) => plan.settings[k].id),
  ];
  return { id: jsonHash(parts).slice(0, 20), condition, firstReplicate, replicateCount, settings };
}

/** Cuts the replicates [from, to) of a condition into blocks. */
export function blocksOf(plan: StudyPlan, condition: number, from: number, to: number, settings: number[]): Block[] {
  const blocks: Block[] = [];
  for (let first = from; first < to; first += plan.blockReplicates) {
    const replicateCount = Math.min(plan.blockReplicates, to - first);
    blocks.push(makeBlock(plan, { condition, firstReplicate: first, replicateCount, settings }));
  }
  return blocks;
}
