import { type Document, LineCounter, parseDocument } from 'yaml';
import type { LineHz } from './atLine.ts';
import { LessonError, readLesson } from './readLesson.ts';
import type { Lesson } from './schema.ts';

const MOST_CHARACTERS = 1_000_000; // our choice: ten times the longest lesson

/**
 * Reads a lesson from YAML or JSON text (JSON is YAML), for a supply of 50 or 60 Hz.
 *
 * @param file - named in refusals, which are `file:line: key: rule, got value`
 * @throws {LessonError} for text that is not YAML, or a lesson that `readLesson` refuses
 */
export function readLessonText(text: string, file: string, lineHz: LineHz = 50): Lesson {
  return readYaml(text, file, (content, lineOf) => readLesson(content, file, { lineHz, lineOf }));
}

/**
 * Parses YAML or JSON text, and hands on its content with a way to tell on which line a key stands.
 *
 * @throws {LessonError} for text that is not YAML, too long, or nested beyond the parser's limits
 */
export function readYaml<Result>(
  text: string,
  file: string,
  read: (content: unknown, lineOf: (keys: readonly string[]) => number) => Result,
): Result {
  if (text.length > MOST_CHARACTERS) throw new LessonError(`${file}: must be short, got ${text.length} characters`);
  const lines = new LineCounter();
  let document: Document.Parsed;
  try {
    document = parseDocument(text, { lineCounter: lines, uniqueKeys: true, prettyErrors: false, logLevel: 'error' });
    const [error] = document.errors;
    if (error) throw new LessonError(`${file}:${lines.linePos(error.pos[0]).line}: ${error.message.split('\n')[0]}`);
    return read(document.toJS({ maxAliasCount: 100 }), (keys) => lineOf(document, lines, keys));
  } catch (error) {
    if (error instanceof LessonError) throw error;
    // The parser's own limits: too many aliases, nested too deep.
    throw new LessonError(`${file}: ${(error as Error).message.split('\n')[0]}`);
  }
}

/** Line of a key, or of the nearest group around it that is written down. */
function lineOf(document: Document.Parsed, lines: LineCounter, keys: readonly string[]): number {
  for (let count = keys.length; count > 0; count--) {
    const node = document.getIn(keys.slice(0, count).map(asIndex), true) as { range?: [number, number, number] } | null;
    if (node?.range) return lines.linePos(node.range[0]).line;
  }
  return 1;
}

function asIndex(key: string): string | number {
  return /^\d+$/.test(key) ? Number(key) : key;
}
