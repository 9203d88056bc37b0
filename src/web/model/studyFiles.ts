import { assembleStudy, type NamedFiles } from '../../study/assembleStudy.ts';
import type { StudyOrder } from '../../study/engine.ts';
import { atLine } from '../../study/readStudy.ts';
import { checkedBlock, checkedHead, readResults, type StoredResults } from '../../study/resultsFile.ts';
import { StudyError } from '../../study/studyError.ts';
import type { StudyBytes } from './studySession.ts';

/** A file that somebody chose: its name, with its folders where a whole folder was chosen. */
export interface ChosenFile {
  path: string;
  bytes(): Promise<Uint8Array>;
}

/** What chosen files turned out to be. */
export type OpenedStudy =
  | { kind: 'study'; order: StudyOrder; bytes: StudyBytes; text: string }
  | { kind: 'results'; results: StoredResults };

/**
 * Reads a study with the files that it names, a results file, or a folder of results.
 *
 * @throws {StudyError} one line: file, rule and what came
 */
export async function openStudyFiles(files: readonly ChosenFile[]): Promise<OpenedStudy> {
  const results = files.find(({ path }) => /\.jsonl$/i.test(path));
  const head = files.find(({ path }) => lastName(path) === 'study.json');
  if (head) return { kind: 'results', results: await folderResults(head, files) };
  if (results) return { kind: 'results', results: readResults(lastName(results.path), await textOf(results)) };
  const study = files.find(({ path }) => /\.(ya?ml|json)$/i.test(path));
  if (study) return openStudy(study, files);
  const [first] = files;
  throw new StudyError(
    `${lastName(first?.path ?? 'no file')}: must be a study (YAML), results.jsonl, or a folder of results; tables of rows do not hold their study`,
  );
}

async function folderResults(head: ChosenFile, files: readonly ChosenFile[]): Promise<StoredResults> {
  const blocks = files.filter(({ path }) => /(^|\/)blocks\/[0-9a-f]+\.json$/.test(path));
  const rows: StoredResults['blocks'] = [];
  for (const file of blocks) rows.push(checkedBlock(file.path, await jsonOf(file)));
  return { head: checkedHead(head.path, await jsonOf(head)), blocks: rows };
}

async function openStudy(study: ChosenFile, files: readonly ChosenFile[]): Promise<OpenedStudy> {
  const name = lastName(study.path);
  const text = await textOf(study);
  // Paths of the study count from its folder; what was chosen has names only.
  const others = new Map<string, Uint8Array>();
  for (const file of files) if (file !== study) others.set(lastName(file.path), await file.bytes());
  const bytes = new Map<string, Uint8Array>();
  const named: NamedFiles = {
    path: (wanted) => wanted,
    bytes(wanted, place) {
      const found = others.get(lastName(wanted));
      if (!found) throw new StudyError(`${place}: ${wanted} is not here; choose it together with ${name}`);
      bytes.set(wanted, found);
      return found;
    },
  };
  try {
    return { kind: 'study', order: assembleStudy(name, text, named), bytes, text };
  } catch (error) {
    if (!(error instanceof StudyError) || error.message.startsWith(`${name}: `)) throw error;
    throw atLine(name, text, error);
  }
}

async function textOf(file: ChosenFile): Promise<string> {
  return new TextDecoder().decode(await file.bytes());
}

async function jsonOf(file: ChosenFile): Promise<unknown> {
  try {
    return JSON.parse(await textOf(file));
  } catch {
    throw new StudyError(`${file.path}: must hold JSON, got a torn or foreign file`);
  }
}

function lastName(path: string): string {
  return path.split(/[/\\]/).pop() as string;
}
