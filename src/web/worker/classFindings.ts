import { csvTable } from '../../formats/csvTable.ts';
import { type AttemptClass, classesOf, type FoundFile, textsOf, verifyFiles } from '../../lessons/attemptClass.ts';
import { type ClassReport, classReport, classRows } from '../../lessons/classReport.ts';
import type { Lesson } from '../../lessons/schema.ts';

/** What the page asks about a class. */
export interface ClassOrder {
  files: FoundFile[];
  /** Every lesson that an attempt may be at, for its supply. */
  lessons: Lesson[];
  /** Version of this program. */
  program: string;
}

/** What the page shows of a class: that of the terminal, word by word. */
export interface ClassFindings {
  reports: (ClassReport & { lineHz: number; texts: string })[];
  left: AttemptClass['left'];
  notes: string[];
  /** One row for each attempt, with every item. */
  csv: string;
}

/** Replays and marks a class of attempts, and reports on it lesson by lesson. Yields the fraction done. */
export function* classFindings({ files, lessons, program }: ClassOrder): Generator<number, ClassFindings> {
  const lessonOf = (id: string, lineHz: number): Lesson => {
    const lesson = lessons.find((entry) => entry.id === id && entry.lineHz === lineHz);
    if (!lesson) throw new RangeError(`lesson.id: must be of the lab, or its lesson.yaml among the files, got "${id}"`);
    return lesson;
  };
  const running = verifyFiles(files, lessonOf, program);
  let step = running.next();
  for (; !step.done; step = running.next()) yield step.value.fraction;
  const { lessons: parts, left, notes } = classesOf(step.value);
  return {
    reports: parts.map((part) => ({
      ...classReport(part.lesson, part.attempts),
      lineHz: part.lesson.lineHz,
      texts: textsOf(part),
    })),
    left,
    notes,
    csv: `${parts.map(({ attempts }) => csvTable(classRows(attempts))).join('\n\n')}\n`,
  };
}
