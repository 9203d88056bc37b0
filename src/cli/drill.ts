import { readdirSync, readFileSync } from 'node:fs';
import { basename, join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { LineHz } from '../lessons/atLine.ts';
import { AttemptError } from '../lessons/attemptFile.ts';
import { readDrillFile, verifyDrill } from '../lessons/drills/drillFile.ts';
import { drillKey } from '../lessons/drills/drillKey.ts';
import { drillRemedy } from '../lessons/drills/drillRemedies.ts';
import type { Drill } from '../lessons/drills/drillSchema.ts';
import { drillSource } from '../lessons/drills/drillSources.ts';
import { readDrillText } from '../lessons/drills/readDrill.ts';
import { LessonError } from '../lessons/readLesson.ts';
import { type ParsedArguments, parseArguments, UsageError } from './arguments.ts';
import { textTable } from './table.ts';

const USAGE = `usage: sweepwise drill list                 the drills of the lab
       sweepwise drill check FILE...        read drills for both supplies; name file, line and rule
       sweepwise drill key FILE...          for instructors: run them; which source is to blame, what mends it
       sweepwise drill verify RECORD...     replay drills that were done, mark them again, compare

A drill is a YAML file, or the name of a drill of the lab; "all" means every drill of the lab.

  --line-hz 50|60      supply (key; default 50)
  --json               key, verify: one JSON object
`;

const ownDrills = fileURLToPath(new URL('../../assets/drills', import.meta.url));

/** Drill commands: list, check, key, verify. */
export function drillCommand(words: string[]): number {
  const [action, ...rest] = words;
  const parsed = parseArguments(rest, { 'line-hz': 'value', json: 'flag', help: 'flag' });
  if (action === undefined || action === 'help' || action === '--help' || action === '-h' || parsed.flag('help')) {
    process.stdout.write(USAGE);
    return 0;
  }
  switch (action) {
    case 'list':
      return listCommand();
    case 'check':
      return checkCommand(parsed);
    case 'key':
      return keyCommand(parsed);
    case 'verify':
      return verifyCommand(parsed);
    default:
      throw new UsageError(`drill: must be list, check, key or verify, got "${action}"`);
  }
}

function listCommand(): number {
  const drills = ownDrillIds().map((id) => readDrill(id, 50));
  for (const { id, title, story } of drills.sort((a, b) => a.place - b.place)) {
    process.stdout.write(`${id.padEnd(30)}${title}\n${' '.repeat(30)}${story}\n`);
  }
  return 0;
}

function checkCommand(parsed: ParsedArguments): number {
  for (const word of drillsOf(parsed, 'check')) {
    const { id, version } = readDrill(word, 50);
    readDrill(word, 60);
    process.stdout.write(`${id}: good, version ${version}, for 50 and 60 Hz\n`);
  }
  return 0;
}

function keyCommand(parsed: ParsedArguments): number {
  const text = parsed.value('line-hz') ?? '50';
  if (text !== '50' && text !== '60') throw new UsageError(`--line-hz: must be 50 or 60, got "${text}"`);
  const keys = drillsOf(parsed, 'key').map((word) => {
    const drill = readDrill(word, text === '50' ? 50 : 60);
    const working = drillKey(drill);
    let step = working.next();
    while (!step.done) step = working.next();
    return { drill: drill.id, ...step.value };
  });
  if (parsed.flag('json')) {
    process.stdout.write(`${JSON.stringify(keys)}\n`);
    return 0;
  }
  const rows = keys.map(({ drill, source, troubledNv, rightNv, least }) => [
    drill,
    drillSource(source).label,
    troubledNv.toFixed(0),
    rightNv.toFixed(0),
    least?.errorNv.toFixed(0) ?? 'never',
    least?.ids.map((id) => drillRemedy(id).label).join(', ') ?? 'nothing on offer',
  ]);
  const heads = ['drill', 'source', 'nV troubled', 'as it should be', 'mended', 'by'];
  process.stdout.write(`${textTable([heads, ...rows])}\n`);
  return keys.every(({ least }) => least !== null) ? 0 : 1;
}

function verifyCommand(parsed: ParsedArguments): number {
  const results = drillsOf(parsed, 'verify').map((file) => {
    try {
      const record = readDrillFile(file, read(file));
      const { problems, mark } = verifyDrill(readDrill(record.drill.id, record.drill.lineHz), record);
      return { file, good: problems.length === 0, points: mark?.points ?? null, learner: record.learner, problems };
    } catch (error) {
      if (!(error instanceof AttemptError || error instanceof UsageError)) throw error;
      return { file, good: false, points: null, learner: '', problems: [error.message] };
    }
  });
  if (parsed.flag('json')) process.stdout.write(`${JSON.stringify(results)}\n`);
  else {
    for (const { file, good, points, learner, problems } of results) {
      const whose = learner === '' ? '' : `, ${learner}`;
      process.stdout.write(
        `${file}: ${good ? 'good' : 'NOT GOOD'}${points === null ? '' : `, ${points} of 100`}${whose}\n`,
      );
      for (const problem of problems) process.stdout.write(`  ${problem}\n`);
    }
  }
  return results.every(({ good }) => good) ? 0 : 1;
}

function drillsOf(parsed: ParsedArguments, action: string): string[] {
  const words = parsed.positionals;
  if (words.length === 0) throw new UsageError(`drill ${action}: needs a file, got none`);
  return words.flatMap((word) => (word === 'all' && action !== 'verify' ? ownDrillIds() : [word]));
}

function ownDrillIds(): string[] {
  return readdirSync(ownDrills)
    .filter((file) => file.endsWith('.yaml'))
    .map((file) => file.slice(0, -'.yaml'.length))
    .sort();
}

/** Reads a drill by the name of its file, or one of the lab by its own name. */
function readDrill(word: string, lineHz: LineHz): Drill {
  const own = ownDrillIds().includes(word);
  if (!own && !/\.(ya?ml|json)$/.test(word)) {
    throw new UsageError(`drill: must be a YAML file or one of ${ownDrillIds().join(', ')}, got "${word}"`);
  }
  const path = own ? join(ownDrills, `${word}.yaml`) : word;
  const shown = relative(process.cwd(), path) || path;
  const drill = readDrillText(read(path), shown, lineHz);
  const named = basename(path).replace(/\.[a-z]+$/, '');
  if (drill.id !== named) throw new LessonError(`${shown}: id must be the name of the file, got ${drill.id}`);
  return drill;
}

function read(file: string): string {
  try {
    return readFileSync(file, 'utf8');
  } catch (error) {
    throw new UsageError(`${file}: cannot be read (${(error as NodeJS.ErrnoException).code})`);
  }
}
