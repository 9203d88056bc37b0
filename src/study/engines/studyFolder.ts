import {
  closeSync,
  existsSync,
  fsyncSync,
  mkdirSync,
  openSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  writeSync,
} from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import type { Block } from '../block.ts';
import { type BlockStore, checkRows } from '../blockStore.ts';
import type { StudyPlan } from '../plan.ts';
import { checkVersion, type StudyHead, studyHead } from '../resultsFile.ts';
import type { BlockRows } from '../runBlock.ts';
import { StudyError } from '../studyError.ts';
import { type LoaderAddress, openPlan } from './openPlan.ts';

/** The results of a study on disk: `study.json`, and one file for each block that is done. */
export interface StudyFolder extends BlockStore {
  path: string;
}

/**
 * Opens the folder of a study, or makes it.
 *
 * @throws {StudyError} if it holds another study, or rows of another version of the program
 */
export function studyFolder(path: string, plan: StudyPlan, version: string): StudyFolder {
  const stored = studyHead(plan, version);
  const text = `${JSON.stringify(stored, null, 1)}\n`;
  if (existsSync(join(path, 'study.json'))) {
    const before = readStored(path);
    if (before.hash !== plan.hash) {
      const rule = `must hold study ${plan.hash} (${plan.study.id})`;
      throw new StudyError(`${path}: ${rule}, got ${before.hash} (${before.study.id}); name another folder with --out`);
    }
    checkVersion(path, before, version);
    if (before.study.answer !== plan.study.answer) writeWhole(join(path, 'study.json'), text);
  } else {
    if (existsSync(path) && readdirSync(path).length > 0) {
      throw new StudyError(
        `${path}: must be empty or hold this study, got other files; name another folder with --out`,
      );
    }
    onDisk(path, () => makeFolder(resolve(path, 'blocks')));
    writeWhole(join(path, 'study.json'), text);
  }
  return openBlocks(path, plan, version);
}

/** Opens the folder of a study that was begun before. @throws {StudyError} if there is none, or of another version */
export async function existingStudyFolder(
  path: string,
  version: string,
  loader: LoaderAddress = null,
): Promise<StudyFolder> {
  const stored = readStored(path);
  checkVersion(path, stored, version);
  return openBlocks(path, await openPlan(stored, loader), version);
}

function openBlocks(path: string, plan: StudyPlan, version: string): StudyFolder {
  const folder = join(path, 'blocks');
  onDisk(path, () => makeFolder(resolve(folder)));
  const fileOf = ({ id }: Block) => join(folder, `${id}.json`);
  const rowsOf = (block: Block): BlockRows | null => {
    try {
      const rows = JSON.parse(readFileSync(fileOf(block), 'utf8')) as BlockRows;
      return rows.study === plan.hash && rows.version === version && rows.block === block.id ? rows : null;
    } catch {
      return null; // not there, or torn by a failing disk: it is run again
    }
  };
  return {
    path,
    plan,
    version,
    store(block, rows) {
      checkRows({ plan, version }, block, rows);
      writeWhole(fileOf(block), `${JSON.stringify(rows)}\n`);
    },
    has: (block) => rowsOf(block) !== null,
    rows: rowsOf,
  };
}

function readStored(path: string): StudyHead {
  let text: string;
  try {
    text = readFileSync(join(path, 'study.json'), 'utf8');
  } catch (error) {
    throw new StudyError(
      `${path}: must hold a study that was run, got no study.json (${(error as { code: string }).code})`,
    );
  }
  try {
    const stored = JSON.parse(text) as StudyHead;
    if (stored.format === 1) return stored;
  } catch {
    // refused below
  }
  throw new StudyError(`${path}: study.json must be of format 1, got another, or a damaged file`);
}

/** Writes a file all or nothing: beside it first, then in its place, each step on the disk before the next. */
export function writeWhole(file: string, content: string | Uint8Array): void {
  const beside = `${file}.${process.pid}.part`;
  onDisk(file, () => {
    try {
      const handle = openSync(beside, 'w');
      try {
        const bytes = typeof content === 'string' ? Buffer.from(content) : content;
        for (let at = 0; at < bytes.length; ) at += writeSync(handle, bytes, at);
        fsyncSync(handle);
      } finally {
        closeSync(handle);
      }
      renameSync(beside, file);
    } catch (error) {
      rmSync(beside, { force: true });
      throw error;
    }
  });
}

const REASONS: Record<string, string> = {
  ENOSPC: 'the disk is full',
  EACCES: 'no permission',
  EROFS: 'the disk is read-only',
  EDQUOT: 'the quota is used up',
  ENOTDIR: 'part of the path is no folder',
};

/** Makes a folder and those around it; Node's own way never ends where a file system takes no folders, such as /proc. */
export function makeFolder(path: string): void {
  if (existsSync(path)) return;
  makeFolder(dirname(path));
  mkdirSync(path);
}

/** Turns a refusal of the disk into one line that says what is kept. */
export function onDisk(path: string, work: () => void): void {
  try {
    work();
  } catch (error) {
    const { code = '' } = error as NodeJS.ErrnoException;
    const reason = REASONS[code] ?? (error as Error).message;
    throw new StudyError(`${path}: cannot be written, ${reason} (${code}); what was stored before is kept`);
  }
}
