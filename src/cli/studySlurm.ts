import { spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { driveStudy } from '../study/drive.ts';
import { codeVersion } from '../study/engines/codeVersion.ts';
import { loadStudy } from '../study/engines/loadStudy.ts';
import { runShare, writeSlurmScript } from '../study/engines/slurm.ts';
import { existingStudyFolder, studyFolder } from '../study/engines/studyFolder.ts';
import { numberOption, parseArguments, UsageError } from './arguments.ts';
import { STRATEGY_LOADER } from './strategyLoader.ts';

const SUBMIT_PROGRAM = 'sbatch';

const USAGE = `usage: sweepwise study slurm FILE --out FOLDER [options]
       sweepwise study slurm FOLDER [options]

Writes FOLDER/slurm/blocks.sh, an array script for the blocks that are missing. When the array has ended, say it again
with the folder: what is still missing is sent again, and the next round follows. FOLDER must be on a disk of all nodes.

  --tasks N            tasks of the array at most (default 200); each runs every N-th block
  --time T             longest time of a task, as Slurm writes it (default 01:00:00)
  --partition NAME     where to run
  --submit             hand the script to sbatch
`;

/** Writes, and on demand submits, an array script for the missing blocks of a study. */
export async function studySlurmCommand(words: string[], version: string): Promise<number> {
  const parsed = parseArguments(words, {
    out: 'value',
    tasks: 'value',
    time: 'value',
    partition: 'value',
    submit: 'flag',
    help: 'flag',
  });
  if (parsed.flag('help')) {
    process.stdout.write(USAGE);
    return 0;
  }
  const [place, ...more] = parsed.positionals;
  if (place === undefined || more.length > 0) {
    throw new UsageError(`study slurm: takes one study file or folder, got ${parsed.positionals.join(' ') || 'none'}`);
  }
  const time = parsed.value('time') ?? '01:00:00';
  if (!/^(\d+-)?\d+(:\d\d){0,2}$/.test(time)) throw new UsageError(`--time: must be like 01:00:00, got "${time}"`);
  const partition = parsed.value('partition') ?? null;
  if (partition !== null && !/^[\w,.-]+$/.test(partition)) {
    throw new UsageError(`--partition: must be a name of letters, digits, _ . , and -, got "${partition}"`);
  }
  const taskCount = numberOption('tasks', parsed.value('tasks'), 1, 100000, true) ?? 200;
  const code = codeVersion(version);
  const out = parsed.value('out');
  const isFolder = existsSync(join(place, 'study.json'));
  if (isFolder && out !== undefined) throw new UsageError('study slurm: takes --out with a study file only');
  const plan = isFolder ? null : await loadStudy(place, STRATEGY_LOADER);
  const folder = plan
    ? studyFolder(out ?? `${plan.study.id}-results`, plan, code)
    : await existingStudyFolder(place, code, STRATEGY_LOADER);
  const signal = new AbortController().signal;
  const state = await driveStudy({ store: folder, engine: null, signal, progress: () => {}, note: () => {} });
  if (state.finished) {
    process.stdout.write(`Nothing is missing; sweepwise study report ${folder.path}\n`);
    return 0;
  }
  const script = writeSlurmScript(folder, state, { taskCount, time, partition });
  process.stdout.write(`${script}: ${state.missing.length} blocks of ${state.round}\n`);
  return parsed.flag('submit') ? submit(script) : 0;
}

function submit(script: string): number {
  const { status, stdout, stderr, error } = spawnSync(SUBMIT_PROGRAM, [script], { encoding: 'utf8' });
  if (error)
    throw new UsageError(`--submit: needs sbatch on this machine, got ${(error as NodeJS.ErrnoException).code}`);
  if (status !== 0) throw new UsageError(`--submit: sbatch must take the script, got ${stderr.trim()}`);
  process.stdout.write(stdout);
  return 0;
}

/** Runs the share of one task of an array; the script that "study slurm" writes calls it. */
export async function studyBlockCommand(words: string[], version: string): Promise<number> {
  const parsed = parseArguments(words, { list: 'value', task: 'value', of: 'value', help: 'flag' });
  if (parsed.flag('help')) {
    process.stdout.write('usage: sweepwise study block FOLDER --list FILE --task K --of N\n');
    return 0;
  }
  const [place, ...more] = parsed.positionals;
  const list = parsed.value('list');
  const taskCount = numberOption('of', parsed.value('of'), 1, 100000, true);
  const task = numberOption('task', parsed.value('task'), 0, 100000, true);
  if (place === undefined || more.length > 0 || !list || taskCount === undefined || task === undefined) {
    throw new UsageError('study block: needs FOLDER --list FILE --task K --of N');
  }
  const done = runShare(await existingStudyFolder(place, codeVersion(version), STRATEGY_LOADER), list, task, taskCount);
  process.stdout.write(`${done} blocks done\n`);
  return 0;
}
