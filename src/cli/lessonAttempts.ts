import { readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import type { LineHz } from '../lessons/atLine.ts';
import { classesOf, type FoundFile, textsOf, type VerifiedFile, verifyFiles } from '../lessons/attemptClass.ts';
import { type ClassReport, classReport, classRows } from '../lessons/classReport.ts';
import type { Lesson } from '../lessons/schema.ts';
import { type ParsedArguments, UsageError } from './arguments.ts';
import { lessonPath, ownLessonPath, readLessonFolder } from './lessonFolder.ts';
import { csvTable, shown, textTable } from './table.ts';

/** Replays attempts and marks them again; exit code 1 if any is not what it claims. */
export function verifyCommand(parsed: ParsedArguments, version: string): number {
  const names = parsed.positionals;
  if (names.length === 0) throw new UsageError('lesson verify: needs attempt files, got none');
  const verified = verifyAll(names, parsed, version);
  if (parsed.flag('json')) {
    const rows = verified.map(({ name, verification: { problems, notes, mark } }) => ({
      file: name,
      good: problems.length === 0,
      points: mark?.points ?? null,
      problems,
      notes,
    }));
    process.stdout.write(`${JSON.stringify(rows)}\n`);
  } else {
    for (const { name, file, verification } of verified) {
      const { problems, notes, mark } = verification;
      const points = mark ? `, ${mark.points} of 100` : '';
      const whose = file?.learner ? `, ${file.learner}, attempt ${file.attempt}` : '';
      process.stdout.write(`${name}: ${problems.length === 0 ? 'good' : 'NOT GOOD'}${points}${whose}\n`);
      for (const problem of problems) process.stdout.write(`  ${problem}\n`);
      for (const note of notes) process.stdout.write(`  note: ${note}\n`);
    }
  }
  return verified.every(({ verification }) => verification.problems.length === 0) ? 0 : 1;
}

/** Reports on a class: all good attempts in a folder, lesson by lesson. */
export function reportCommand(parsed: ParsedArguments, version: string): number {
  const [folder, ...more] = parsed.positionals;
  if (folder === undefined || more.length > 0) throw new UsageError('lesson report: needs one folder of attempts');
  const verified = verifyAll(attemptFilesIn(folder), parsed, version);
  const { lessons: parts, left, notes } = classesOf(verified);
  for (const { name, reasons } of left) process.stderr.write(`left out ${name}: ${reasons[0]}\n`);
  for (const note of notes) process.stderr.write(`note: ${note}\n`);
  if (parts.length === 0) throw new UsageError(`${folder}: must hold good attempts, got none of ${verified.length}`);
  if (parsed.flag('csv')) {
    process.stdout.write(`${parts.map(({ attempts }) => csvTable(classRows(attempts))).join('\n\n')}\n`);
  } else {
    const reports = parts.map(({ lesson, attempts }) => classReport(lesson, attempts));
    if (parsed.flag('json')) process.stdout.write(`${JSON.stringify(reports)}\n`);
    else process.stdout.write(`${reports.map(reportText).join('\n\n')}\n`);
    if (parsed.flag('texts') && !parsed.flag('json')) {
      for (const part of parts) process.stdout.write(`\n${textsOf(part)}\n`);
    }
  }
  return 0;
}

function attemptFilesIn(folder: string): string[] {
  try {
    if (!statSync(folder).isDirectory()) throw new UsageError(`${folder}: must be a folder, got a file`);
    return readdirSync(folder)
      .filter((name) => name.endsWith('.json'))
      .sort()
      .map((name) => join(folder, name));
  } catch (error) {
    if (error instanceof UsageError) throw error;
    throw new UsageError(`${folder}: cannot be read (${(error as NodeJS.ErrnoException).code})`);
  }
}

function verifyAll(names: readonly string[], parsed: ParsedArguments, version: string): VerifiedFile[] {
  const lessons = new Map<string, Lesson>();
  const from = parsed.value('lesson');
  const lessonOf = (id: string, lineHz: LineHz): Lesson => {
    const key = `${id}/${lineHz}`;
    const known = lessons.get(key);
    if (known) return known;
    try {
      const { lesson } = readLessonFolder(from === undefined ? ownLessonPath(id) : lessonPath(from), lineHz);
      lessons.set(key, lesson);
      return lesson;
    } catch (error) {
      // One attempt at an unknown lesson must not hide what the others hold.
      throw error instanceof UsageError ? new RangeError(error.message) : error;
    }
  };
  const running = verifyFiles(
    names.map((name) => ({ name, text: textOf(name) })),
    lessonOf,
    version,
  );
  let step = running.next();
  while (!step.done) step = running.next();
  return step.value;
}

function textOf(name: string): FoundFile['text'] {
  try {
    return readFileSync(name, 'utf8');
  } catch (error) {
    return { problem: `${name}: cannot be read (${(error as NodeJS.ErrnoException).code})` };
  }
}

function reportText(report: ClassReport): string {
  const [lowest, quarter, median, threeQuarters, highest] = report.quartiles.map((points) => shown(points, 0));
  const bars = report.histogram.map((count, k) => {
    const range = k === 9 ? '90–100' : `${10 * k}–${10 * k + 9}`;
    return `${range.padStart(7)}  ${'█'.repeat(count)} ${count > 0 ? count : ''}`.trimEnd();
  });
  const items = report.items.map(({ id, part, difficulty, discrimination }) => [
    id,
    part,
    shown(100 * difficulty, 0),
    shown(discrimination, 2),
  ]);
  const wrong = report.misconceptions
    .slice(0, 12)
    .map(({ question, text, count, of }) => `${count}/${of}  “${text}” to “${question}”`);
  return [
    `${report.title}: ${report.attemptCount} attempts`,
    `points: lowest ${lowest}, quartiles ${quarter}, ${median}, ${threeQuarters}, highest ${highest}`,
    '',
    ...bars,
    '',
    ...report.parts.map(({ part, mean, outOf }) => `${part}: mean ${shown(mean, 1)} of ${outOf}`),
    '',
    textTable([['item', 'part', 'mean %', 'discrimination'], ...items]),
    '',
    wrong.length > 0 ? 'Most frequent wrong answers:' : 'No wrong answers among options.',
    ...wrong,
  ].join('\n');
}
