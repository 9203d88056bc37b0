import type { AveragingStrategy } from '../core/averaging/strategy.ts';
import type { StudyOrder } from './engine.ts';
import type { Outside, StudyPlan } from './plan.ts';
import type { BlockRows } from './runBlock.ts';
import { StudyError } from './studyError.ts';

/** What results say of themselves: the study that they are of, and the version of the program. */
export interface StudyHead extends StudyOrder {
  format: 1;
  version: string;
  hash: string;
  /** Strategies from files, so that results can be read where the files are not. */
  outside?: { name: string; id: string; label: string; parameters: AveragingStrategy['parameters'] }[];
}

/** Results as they are read: a head, and the rows of some blocks, unchecked. */
export interface StoredResults {
  head: StudyHead;
  blocks: BlockRows[];
}

/** What results of a plan say of themselves. */
export function studyHead(plan: StudyPlan, version: string): StudyHead {
  const { hash, study, files } = plan;
  const outside = [...plan.outside].map(([name, { id, label, parameters }]) => ({ name, id, label, parameters }));
  return { format: 1, version, hash, study, files, ...(outside.length > 0 ? { outside } : {}) };
}

/** The strategies from files that results name: enough to read, not to run. */
export function outsideOfHead({ outside = [] }: StudyHead): Outside {
  return new Map(
    outside.map(({ name, ...told }) => [
      name,
      {
        ...told,
        summary: '',
        timing: 'online',
        scenarioKey: told.id,
        explain: () => '',
        create: () => {
          throw new StudyError(`strategies: ${name} must be loaded from its file to run, got its results only`);
        },
      } as AveragingStrategy,
    ]),
  );
}

/**
 * The first line of a results file: one JSON object a line, the head first, then the rows of each block, in any order.
 *
 * Paths are left out: they are of the machine that made the rows.
 */
export function headLine(plan: StudyPlan, version: string): string {
  const files = plan.files.map((file) => ({ ...file, path: file.name }));
  return `${JSON.stringify({ ...studyHead(plan, version), files })}\n`;
}

/** The line of a block. */
export function blockLine(rows: BlockRows): string {
  return `${JSON.stringify(rows)}\n`;
}

/**
 * Reads results: one file of lines, or `study.json` and the files of its `blocks` folder one after the other.
 *
 * @param name - of the file, for the refusal
 * @throws {StudyError} naming file, line and rule
 */
export function readResults(name: string, text: string): StoredResults {
  const lines = text.split('\n');
  const objects = lines.flatMap((line, k) => (line.trim() === '' ? [] : [objectAt(name, line, k + 1)]));
  const [head, ...blocks] = objects as [StudyHead | undefined, ...BlockRows[]];
  return { head: checkedHead(name, head), blocks: blocks.map((rows) => checkedBlock(name, rows)) };
}

/** Takes an object for the head of results. @throws {StudyError} if it is none */
export function checkedHead(name: string, head: unknown): StudyHead {
  const { format, version, hash, study, files } = (head ?? {}) as Partial<StudyHead>;
  const fits = typeof version === 'string' && typeof hash === 'string' && typeof study === 'object';
  if (format !== 1 || !fits || !Array.isArray(files)) {
    throw new StudyError(`${name}: must hold results of a study, format 1, got something else, or a damaged file`);
  }
  return head as StudyHead;
}

/** Takes an object for the rows of a block. @throws {StudyError} if it is none */
export function checkedBlock(name: string, rows: unknown): BlockRows {
  const { block, patients } = (rows ?? {}) as Partial<BlockRows>;
  if (typeof block === 'string' && Array.isArray(patients)) return rows as BlockRows;
  throw new StudyError(`${name}: must hold rows of blocks, got something else, or a damaged file`);
}

/** Refuses to mix rows of two versions. @throws {StudyError} naming both */
export function checkVersion(place: string, head: StudyHead, version: string): void {
  if (head.version === version) return;
  const rule = 'rows must all be of one version of the program';
  throw new StudyError(`${place}: ${rule}, got ${head.version} in the folder and ${version} here; name another folder`);
}

function objectAt(name: string, line: string, number: number): unknown {
  try {
    return JSON.parse(line);
  } catch {
    throw new StudyError(`${name}: line ${number}: must be one JSON object, got a torn or foreign line`);
  }
}
