import type { LineHz } from './atLine.ts';
import { AttemptError, type AttemptFile, readAttemptFile } from './attemptFile.ts';
import type { MarkedAttempt } from './classReport.ts';
import type { RunCache } from './hiddenRuns.ts';
import type { MarkProgress } from './mark.ts';
import type { Lesson } from './schema.ts';
import { type Verification, verifyAttempt } from './verifyAttempt.ts';

/** A file as it was found: its text, or why it could not be read. */
export interface FoundFile {
  name: string;
  text: string | { problem: string };
}

/** A file after it was judged. */
export interface VerifiedFile {
  name: string;
  /** Null if it is no attempt. */
  file: AttemptFile | null;
  /** Null if its lesson is not known. */
  lesson: Lesson | null;
  verification: Verification;
}

/** The good attempts at one lesson, for one supply. */
export interface LessonClass {
  lesson: Lesson;
  attempts: MarkedAttempt[];
}

/** A class: what counts by lesson, what is left out and why, and what an instructor should look at. */
export interface AttemptClass {
  lessons: LessonClass[];
  left: { name: string; reasons: string[] }[];
  notes: string[];
}

/**
 * Replays the attempts of a class and marks them again, one after the other; a bad file hides none of the others.
 *
 * A generator, so that progress can be shown; the return value has one entry for each file, in the same order.
 *
 * @param lessonOf - the lesson of an attempt; what it throws as a RangeError is told as the file's problem
 * @param program - version of this program
 */
export function* verifyFiles(
  files: readonly FoundFile[],
  lessonOf: (id: string, lineHz: LineHz) => Lesson,
  program: string,
): Generator<MarkProgress, VerifiedFile[]> {
  const cache: RunCache = new Map();
  const verified: VerifiedFile[] = [];
  for (const [k, found] of files.entries()) {
    yield { title: found.name, fraction: k / files.length };
    verified.push(verifyFile(found, lessonOf, program, cache));
  }
  return verified;
}

/** Sorts verified files into classes, lesson by lesson, in the order in which they come up. */
export function classesOf(verified: readonly VerifiedFile[]): AttemptClass {
  const lessons = new Map<string, LessonClass>();
  const left: AttemptClass['left'] = [];
  const seen = new Map<string, string>();
  const notes: string[] = [];
  for (const { name, file, lesson, verification } of verified) {
    const { problems, mark } = verification;
    if (!file || !lesson || !mark || problems.length > 0) {
      const reasons = [...problems, ...verification.notes];
      left.push({ name, reasons: reasons.length > 0 ? reasons : ['no mark'] });
      continue;
    }
    const key = `${lesson.id} at ${lesson.lineHz} Hz`;
    const entry = lessons.get(key) ?? { lesson, attempts: [] };
    entry.attempts.push({ file, mark });
    lessons.set(key, entry);
    if (file.learner.trim() === '') continue;
    const whose = `${file.learner.trim().toLowerCase()}, attempt ${file.attempt} at ${key}`;
    const before = seen.get(whose);
    // A limit of attempts is kept by the learner's browser alone: here it shows who began again without counting.
    if (before !== undefined) notes.push(`${name}: ${whose} is in ${before} as well; both count`);
    else seen.set(whose, name);
  }
  return { lessons: [...lessons.values()], left, notes };
}

/** The learners' own texts in one lesson, with the rubric to tick under each, for the instructor to mark. */
export function textsOf({ lesson, attempts }: LessonClass): string {
  const rubric = lesson.essay.rubric.map((line) => `  [ ] ${line}`).join('\n');
  const texts = attempts.map(
    ({ file }) => `${file.learner || 'no name'}, attempt ${file.attempt}:\n${file.text || '(no text)'}\n${rubric}`,
  );
  return `${lesson.title}: “${lesson.essay.prompt}”\n\n${texts.join('\n\n')}`;
}

function verifyFile(
  { name, text }: FoundFile,
  lessonOf: (id: string, lineHz: LineHz) => Lesson,
  program: string,
  cache: RunCache,
): VerifiedFile {
  let file: AttemptFile | null = null;
  try {
    if (typeof text !== 'string') throw new AttemptError(text.problem);
    file = readAttemptFile(name, text);
    const lesson = lessonOf(file.lesson.id, file.lesson.lineHz);
    const verification = verifyAttempt(lesson, file, program, cache);
    if (lesson.hidden.seeds !== 'shared') cache.clear(); // nobody else has this seed
    return { name, file, lesson, verification };
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    return { name, file, lesson: null, verification: { problems: [error.message], notes: [], mark: null } };
  }
}
