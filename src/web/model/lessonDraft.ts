import { strFromU8, strToU8, unzipSync, zipSync } from 'fflate';
import { type Document, isNode, parse, parseDocument, stringify } from 'yaml';
import { plausibilityWarnings } from '../../core/scenario/plausibility.ts';
import { lineFrequenciesHz } from '../../lessons/atLine.ts';
import { LESSON_TEXTS, type LessonTextFile, lessonTextRule } from '../../lessons/lessonFiles.ts';
import { scenarioOf, startSettings } from '../../lessons/lessonRun.ts';
import { readLessonText } from '../../lessons/lessonText.ts';
import type { Lesson } from '../../lessons/schema.ts';
import { EMPTY_LESSON } from './emptyLesson.ts';
import { lessonSource } from './lessonLibrary.ts';

/** Where a value stands in the manifest. */
export type DraftPath = readonly (string | number)[];

/** What is wrong with a draft and what is unusual. */
export interface DraftFindings {
  /** The lesson as it is at 50 Hz; null if the manifest is refused there. */
  lesson: Lesson | null;
  /** Refusals, as `sweepwise lesson check` would name them; none if the lesson is good. */
  problems: string[];
  /** What can be and yet hardly ever is, run by run. */
  warnings: string[];
}

/** A file as it was opened. */
export interface OpenedFile {
  path: string;
  bytes: Uint8Array;
}

const MANIFEST = /(^|\/)lesson\.(ya?ml|json)$/i;
const MOST_BYTES = 5_000_000; // our choice: no lesson is a tenth of it

const designs = import.meta.glob<string>('../../../lessons/*/design.md', {
  eager: true,
  import: 'default',
  query: '?raw',
});

/**
 * A lesson that is being written: the text of its manifest, and its Markdown texts.
 *
 * The YAML text is the one truth: a field of the form changes its place in it and leaves comments, order and everything
 * else as they are, so that form and text can be used in turn.
 */
export class LessonDraft {
  private text_ = EMPTY_LESSON;
  private document: Document.Parsed = parsed(EMPTY_LESSON);
  texts: Record<LessonTextFile, string> = emptyTexts();

  /** The manifest as text. */
  get text(): string {
    return this.text_;
  }

  /** Why the text is no YAML; null if it is. The form can change nothing before that is mended. */
  get syntaxProblem(): string | null {
    const [error] = this.document.errors;
    return error ? `lesson.yaml: ${error.message}` : null;
  }

  setText(text: string): void {
    this.text_ = text;
    this.document = parsed(text);
  }

  /** The plain value at a place; undefined if there is none. */
  valueAt(path: DraftPath): unknown {
    if (this.syntaxProblem !== null) return undefined;
    try {
      const node = this.document.getIn([...path], true);
      return isNode(node) ? node.toJS(this.document) : node;
    } catch {
      return undefined; // a word where the form looks for a group: the check names it
    }
  }

  /** A value as YAML text of its own; empty if there is none. */
  yamlAt(path: DraftPath): string {
    const value = this.valueAt(path);
    return value === undefined ? '' : stringify(value, { lineWidth: 0 });
  }

  /** Writes a value at a place; undefined takes the key away. @throws {Error} if a word stands where a group must be */
  set(path: DraftPath, value: unknown): void {
    if (value === undefined) this.document.deleteIn([...path]);
    else this.document.setIn([...path], this.document.createNode(value));
    this.text_ = this.document.toString({ lineWidth: 0 });
    this.document = parsed(this.text_);
  }

  /** Adds an entry to a list, or begins one. */
  add(path: DraftPath, entry: unknown): void {
    const list = this.valueAt(path);
    if (Array.isArray(list)) this.set([...path, list.length], entry);
    else this.set(path, [entry]);
  }

  /** Reads the whole draft as `sweepwise lesson check` does, for both supplies. */
  findings(): DraftFindings {
    const problems: string[] = [];
    const lessons = lineFrequenciesHz.map((lineHz) => {
      try {
        return readLessonText(this.text_, 'lesson.yaml', lineHz);
      } catch (error) {
        const { message } = error as Error;
        if (!problems.includes(message)) problems.push(message);
        return null;
      }
    });
    for (const file of LESSON_TEXTS) {
      const rule = lessonTextRule(this.texts[file]);
      if (rule !== null) problems.push(`${file}: ${rule}`);
    }
    const warnings = lessons.flatMap((lesson) => (lesson ? warningsOf(lesson) : []));
    return { lesson: lessons[0], problems, warnings: [...new Set(warnings)] };
  }

  /** The lesson folder as one file, named after the lesson: unpacked, it is what the terminal reads. */
  zip(): { name: string; bytes: Uint8Array<ArrayBuffer> } {
    const given = String(this.valueAt(['id']));
    const id = /^[a-z0-9-]+$/.test(given) ? given : 'lesson'; // it becomes the name of a folder
    const files = { 'lesson.yaml': this.text_, ...this.texts };
    const entries = Object.entries(files).map(([file, text]) => [`${id}/${file}`, strToU8(text)]);
    return { name: `${id}.zip`, bytes: zipSync(Object.fromEntries(entries)) };
  }

  /** Begins with nothing but the smallest whole lesson. */
  static empty(): LessonDraft {
    return new LessonDraft();
  }

  /** Begins with a lesson of the lab, for both supplies. */
  static ofLab(slug: string): LessonDraft {
    const { manifest, texts } = lessonSource(slug);
    const draft = new LessonDraft();
    draft.setText(manifest);
    const design = designs[`../../../lessons/${slug}/design.md`] ?? '';
    draft.texts = { ...emptyTexts(), ...texts, 'design.md': design };
    return draft;
  }

  /**
   * Opens a lesson that was saved: a zip, or the files of its folder.
   *
   * @throws {RangeError} if there is no manifest among them, or the zip cannot be read
   */
  static ofFiles(opened: readonly OpenedFile[]): LessonDraft {
    const files = opened.flatMap((file) => (/\.zip$/i.test(file.path) ? unzipped(file) : [file]));
    const manifest = files.find(({ path }) => MANIFEST.test(path));
    if (!manifest)
      throw new RangeError(`files: must hold lesson.yaml, got ${files.map(({ path }) => path).join(', ')}`);
    const draft = new LessonDraft();
    draft.setText(strFromU8(manifest.bytes));
    const folder = manifest.path.slice(0, manifest.path.lastIndexOf('/') + 1);
    for (const name of LESSON_TEXTS) {
      const file = files.find(({ path }) => path === `${folder}${name}`);
      draft.texts[name] = file ? strFromU8(file.bytes) : '';
    }
    return draft;
  }
}

/** Writes a value as it stands in one field of the form: `25`, `{ at50: 25, at60: 30 }`, `[a, b]`. */
export function fieldText(value: unknown): string {
  if (value === undefined || value === null) return '';
  if (typeof value === 'string') return value;
  return stringify(value, { collectionStyle: 'flow', lineWidth: 0 }).trim();
}

/** Reads a field that may hold a number, a list or a group; words stay words. Empty is undefined. */
export function fieldValue(text: string): unknown {
  if (text.trim() === '') return undefined;
  try {
    return parse(text);
  } catch {
    return text; // the check of the lesson says what it should be
  }
}

function parsed(text: string): Document.Parsed {
  return parseDocument(text, { prettyErrors: true, logLevel: 'error' });
}

function emptyTexts(): Record<LessonTextFile, string> {
  return Object.fromEntries(LESSON_TEXTS.map((file) => [file, ''])) as Record<LessonTextFile, string>;
}

function warningsOf(lesson: Lesson): string[] {
  return lesson.runs.flatMap((run) => {
    const seeds = run.case === undefined ? [''] : (lesson.cases ?? []).map(({ id }) => id);
    return seeds.flatMap((seed) =>
      plausibilityWarnings(scenarioOf(lesson, run, startSettings(lesson), seed)).map(
        ({ path, rule, value }) => `${run.title}: ${path} ${rule}, got ${value}`,
      ),
    );
  });
}

function unzipped({ path, bytes }: OpenedFile): OpenedFile[] {
  try {
    const entries = unzipSync(bytes, {
      filter: ({ name, originalSize }) => /\.(md|ya?ml|json)$/i.test(name) && originalSize < MOST_BYTES,
    });
    return Object.entries(entries).map(([name, content]) => ({ path: name, bytes: content }));
  } catch (error) {
    throw new RangeError(`${path}: must be a zip, got: ${(error as Error).message}`);
  }
}
