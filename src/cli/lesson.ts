import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { LineHz } from '../lessons/atLine.ts';
import { bundles, lessonsOf, minutesOf } from '../lessons/bundles.ts';
import { type DryRunReport, dryRun } from '../lessons/dryRun.ts';
import { answerKey, handout } from '../lessons/handout.ts';
import { measureRuns } from '../lessons/mark.ts';
import { settingsOf } from '../lessons/standardPlayers.ts';
import { numberOption, type ParsedArguments, parseArguments, UsageError } from './arguments.ts';
import { reportCommand, verifyCommand } from './lessonAttempts.ts';
import { lessonPath, ownLessonSlugs, readLessonFolder } from './lessonFolder.ts';
import { withProgress } from './progress.ts';
import { textTable } from './table.ts';

const USAGE = `usage: sweepwise lesson list                      the lessons of the lab, by bundle and one by one
       sweepwise lesson check FOLDER...          read lessons whole, for both supplies; name file, line and rule
       sweepwise lesson dry-run FOLDER...        let standard players play: is it solvable, discriminating, fair?
       sweepwise lesson verify FILE...           replay attempts, mark them again, compare
       sweepwise lesson report FOLDER            a class: distributions, misconceptions, items
       sweepwise lesson handout FOLDER           printable handout with answer sheet, and the instructor's key

A lesson is a folder, or the name of a lesson of the lab; "all" means every lesson of the lab.

  --line-hz 50|60      supply (dry-run, handout; default 50)
  --seeds K            dry-run: attempt seeds (default 3)
  --patients K         dry-run: at most so many hidden patients a run (default: as the lesson says)
  --lesson FOLDER      verify, report: where an attempt's lesson is, if not in the lab
  --to FOLDER          handout: where to write (default: here)
  --csv                report: one row for each attempt, with every item
  --texts              report: add the learners' own texts, for marking by the rubric
  --json               dry-run, verify, report: one JSON object
`;

/** Lesson commands: check, dry-run, verify, report, handout. */
export function lessonCommand(words: string[], version: string): number {
  const [action, ...rest] = words;
  const parsed = parseArguments(rest, {
    'line-hz': 'value',
    seeds: 'value',
    patients: 'value',
    lesson: 'value',
    to: 'value',
    csv: 'flag',
    texts: 'flag',
    json: 'flag',
    help: 'flag',
  });
  if (action === undefined || action === 'help' || action === '--help' || action === '-h' || parsed.flag('help')) {
    process.stdout.write(USAGE);
    return 0;
  }
  switch (action) {
    case 'list':
      return listCommand();
    case 'check':
      return checkCommand(parsed);
    case 'dry-run':
      return dryRunCommand(parsed);
    case 'verify':
      return verifyCommand(parsed, version);
    case 'report':
      return reportCommand(parsed, version);
    case 'handout':
      return handoutCommand(parsed);
    default:
      throw new UsageError(`lesson: must be list, check, dry-run, verify, report or handout, got "${action}"`);
  }
}

/** The bundles with their lessons in order, then every lesson with what it is about. */
function listCommand(): number {
  const entries = ownLessonSlugs().map((slug) => readLessonFolder(lessonPath(slug), 50));
  const line = (name: string, text: string) => process.stdout.write(`${name.padEnd(30)}${text}\n`);
  for (const bundle of bundles) {
    const its = lessonsOf(bundle, entries);
    line(bundle.id, `${bundle.title} (${its.length} lessons, ${minutesOf(its)} minutes)`);
    line('', bundle.summary);
    for (const [k, { lesson }] of its.entries()) {
      line(`  ${k + 1} ${lesson.id}`, `${lesson.title} (${lesson.minutes} minutes)`);
    }
    process.stdout.write('\n');
  }
  line('all lessons', 'in the order of the curriculum');
  for (const { lesson } of entries.sort((a, b) => a.lesson.place - b.lesson.place)) {
    line(`  ${lesson.id}`, `${lesson.title} (${lesson.minutes} minutes)`);
    line('', lesson.summary);
  }
  return 0;
}

function checkCommand(parsed: ParsedArguments): number {
  for (const path of foldersOf(parsed, 'check')) {
    const { lesson } = readLessonFolder(path, 50);
    readLessonFolder(path, 60);
    process.stdout.write(`${lesson.id}: good, version ${lesson.version}, for 50 and 60 Hz\n`);
  }
  return 0;
}

function dryRunCommand(parsed: ParsedArguments): number {
  const count = numberOption('seeds', parsed.value('seeds'), 1, 100, true) ?? 3;
  const patients = numberOption('patients', parsed.value('patients'), 3, 200, true);
  const seeds = Array.from({ length: count }, (_, k) => `dry-run-${k + 1}`);
  const reports = foldersOf(parsed, 'dry-run').map((path) => {
    const { lesson } = readLessonFolder(path, lineHzOf(parsed));
    return withProgress(dryRun(lesson, { seeds, patients }), lesson.id);
  });
  if (parsed.flag('json')) process.stdout.write(`${JSON.stringify(reports)}\n`);
  else process.stdout.write(`${reports.map(dryRunText).join('\n\n')}\n`);
  return reports.every(({ verdicts }) => verdicts.every(({ holds }) => holds)) ? 0 : 1;
}

function dryRunText({ lesson, players, verdicts }: DryRunReport): string {
  const mean = (points: number[]) => (points.reduce((sum, value) => sum + value, 0) / points.length).toFixed(0);
  const rows = players.map(({ id, text, points }) => [
    `${id}: ${text}`,
    mean(points),
    String(Math.min(...points)),
    String(Math.max(...points)),
  ]);
  const lines = verdicts.map(({ id, text, holds }) => `${holds ? 'yes' : 'NO '}  ${id}: ${text}`);
  return `${lesson}\n\n${textTable([['player', 'mean', 'lowest', 'highest'], ...rows])}\n\n${lines.join('\n')}`;
}

function handoutCommand(parsed: ParsedArguments): number {
  const to = parsed.value('to') ?? '.';
  for (const path of foldersOf(parsed, 'handout')) {
    const folder = readLessonFolder(path, lineHzOf(parsed));
    const { lesson } = folder;
    const attemptSeed = 'handout';
    const settings = settingsOf(lesson, lesson.players.textbook, attemptSeed);
    const measures = withProgress(measureRuns(lesson, { settings, attemptSeed }, new Map()), lesson.id);
    const files = {
      [`${lesson.id}-handout.html`]: handout(folder),
      [`${lesson.id}-key.html`]: answerKey(folder, { lesson, settings, measures, attemptSeed }),
    };
    for (const [name, html] of Object.entries(files)) {
      try {
        writeFileSync(join(to, name), html);
      } catch (error) {
        throw new UsageError(`${join(to, name)}: cannot be written (${(error as NodeJS.ErrnoException).code})`);
      }
      process.stdout.write(`${join(to, name)}\n`);
    }
  }
  return 0;
}

function foldersOf(parsed: ParsedArguments, action: string): string[] {
  const words = parsed.positionals;
  if (words.length === 0) throw new UsageError(`lesson ${action}: needs a lesson, got none`);
  return words.flatMap((word) => (word === 'all' ? ownLessonSlugs() : [word])).map(lessonPath);
}

function lineHzOf(parsed: ParsedArguments): LineHz {
  const text = parsed.value('line-hz') ?? '50';
  if (text !== '50' && text !== '60') throw new UsageError(`--line-hz: must be 50 or 60, got "${text}"`);
  return text === '50' ? 50 : 60;
}
