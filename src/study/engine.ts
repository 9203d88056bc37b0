import type { Block } from './block.ts';
import type { StudyFile, StudyPlan } from './plan.ts';
import type { BlockRows } from './runBlock.ts';
import type { StudyDocument } from './schema.ts';

/** What a worker needs to know of a study; the plan follows from it. */
export interface StudyOrder {
  study: StudyDocument;
  files: StudyFile[];
}

/** What an engine is asked to do: run these blocks, in any order, and hand over the rows of each as they come. */
export interface EngineTask {
  plan: StudyPlan;
  version: string;
  blocks: readonly Block[];
  /** Called once or more for a block; when it returns, the rows are safe. */
  store(block: Block, rows: BlockRows): void;
  /** Stops the engine: blocks in work are dropped, what was stored stays. */
  signal: AbortSignal;
  /** Tells a person something that is no error, such as a connection that is being made again. */
  note(text: string): void;
}

/** One way of running blocks. All give the same rows. */
export interface Engine {
  /** What does the work, for the line of progress: `2 threads`. */
  label: string;
  /** Resolves when every block is stored, or soon after the signal. @throws the first failure of a block */
  run(task: EngineTask): Promise<void>;
  /** Ends what the engine started. */
  close(): Promise<void>;
}
