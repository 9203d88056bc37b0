import type { Block } from './block.ts';
import type { BlockStore } from './blockStore.ts';
import type { Score } from './choose.ts';
import type { Engine } from './engine.ts';
import { type Gathered, gatherRows } from './gathered.ts';
import type { StudyPlan } from './plan.ts';
import { roundsOf } from './rounds.ts';
import { StudyError } from './studyError.ts';

/** How far a study is. Counts are of patients recorded. */
export interface StudyProgress {
  round: string;
  doneInRound: number;
  inRound: number;
  /** Recordings made since this process began, and the seconds that took. */
  madeNow: number;
  secondsNow: number;
}

/** What to do with the blocks of a round that are missing: run them, or nothing. */
export interface DriveOrder {
  store: BlockStore;
  /** null only looks. */
  engine: Engine | null;
  signal: AbortSignal;
  progress(state: StudyProgress): void;
  note(text: string): void;
}

/** Where a study stands. */
export interface StudyState {
  finished: boolean;
  /** Missing blocks of the round that is open; empty if finished. */
  missing: Block[];
  /** Blocks of all rounds so far, in the order of their rows. */
  blocks: Block[];
  round: string;
  ranking: Score[];
}

/**
 * Brings a study forward round by round, as far as its engine takes it.
 *
 * Blocks whose rows are in the store are not run again. Rows are taken in the order of the plan, not of arrival: the
 * rounds that follow, and all tables, are the same however often the study was interrupted.
 */
export async function driveStudy(order: DriveOrder): Promise<StudyState> {
  const { store: kept, engine, signal } = order;
  const { plan } = kept;
  const rounds = roundsOf(plan);
  const gathered = gatherRows(plan);
  const blocks: Block[] = [];
  const started = performance.now();
  let madeNow = 0;
  let step = rounds.next();
  while (!step.done) {
    const { name: round, blocks: roundBlocks } = step.value;
    const missing = roundBlocks.filter((block) => !kept.has(block));
    const tell = (doneInRound: number) => {
      const secondsNow = (performance.now() - started) / 1000;
      order.progress({ round, doneInRound, inRound: recordings(roundBlocks), madeNow, secondsNow });
    };
    let done = recordings(roundBlocks) - recordings(missing);
    tell(done);
    const stored = new Set<string>();
    if (missing.length > 0 && engine) {
      await engine.run({
        plan,
        version: kept.version,
        blocks: missing,
        signal,
        note: order.note,
        store(block, rows) {
          kept.store(block, rows);
          if (stored.has(block.id)) return;
          stored.add(block.id);
          done += block.replicateCount;
          madeNow += block.replicateCount;
          tell(done);
        },
      });
    }
    blocks.push(...roundBlocks);
    const still = missing.filter(({ id }) => !stored.has(id));
    if (still.length > 0) return { finished: false, missing: still, blocks, round, ranking: [] };
    if (needsRows(plan)) collect(kept, roundBlocks, gathered);
    step = rounds.next(gathered);
  }
  return { finished: true, missing: [], blocks, round: '', ranking: step.value };
}

/** Reads the figures of blocks, in their order; those not there yet are left out. */
export function gatherBlocks(kept: BlockStore, blocks: readonly Block[]): Gathered {
  const gathered = gatherRows(kept.plan);
  for (const block of blocks) {
    const rows = kept.rows(block);
    if (rows) gathered.add(block, rows);
  }
  return gathered;
}

function collect(kept: BlockStore, blocks: readonly Block[], gathered: Gathered): void {
  for (const block of blocks) {
    const rows = kept.rows(block);
    if (!rows)
      throw new StudyError(`block ${block.id}: its file must be readable, got a damaged one; delete it and resume`);
    gathered.add(block, rows);
  }
}

/** A plain grid runs in one round: nothing has to be held in memory while it runs. */
function needsRows({ study, replicates }: StudyPlan): boolean {
  return study.test !== undefined || replicates.until !== null || study.search?.kind === 'successive-halving';
}

function recordings(blocks: readonly Block[]): number {
  return blocks.reduce((sum, { replicateCount }) => sum + replicateCount, 0);
}
