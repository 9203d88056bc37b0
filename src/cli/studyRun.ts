import { availableParallelism } from 'node:os';
import { resolve } from 'node:path';
import { driveStudy, type StudyProgress, type StudyState } from '../study/drive.ts';
import type { Engine } from '../study/engine.ts';
import { codeVersion } from '../study/engines/codeVersion.ts';
import { inProcessEngine } from '../study/engines/inProcess.ts';
import { loadStudy } from '../study/engines/loadStudy.ts';
import { checkRedisUrl } from '../study/engines/redisConnection.ts';
import { redisEngine } from '../study/engines/redisEngine.ts';
import { writeReport } from '../study/engines/reportFiles.ts';
import { existingStudyFolder, type StudyFolder, studyFolder } from '../study/engines/studyFolder.ts';
import { threadsEngine } from '../study/engines/threads.ts';
import { mostRecordings } from '../study/plan.ts';
import { numberOption, type ParsedArguments, parseArguments, UsageError } from './arguments.ts';
import { STRATEGY_LOADER } from './strategyLoader.ts';

const usage = (command: string) => `usage: sweepwise study ${command} ${command === 'run' ? 'FILE' : 'FOLDER'} [options]

${command === 'run' ? 'FILE is a study in YAML or JSON, or - for standard input.\n\n  --out FOLDER       where results go (default: STUDY-ID-results here)\n' : ''}  --workers N        threads (default: one for each core)
  --in-process       no threads: one block after the other
  --redis URL        on workers anywhere, through Redis (start "study worker --redis URL" on each machine)
  --quiet            no progress

Ctrl-C stops at once and loses nothing but the blocks in work; "study resume FOLDER" goes on.
`;

/** Runs a study, or goes on with one. */
export async function studyRunCommand(command: 'run' | 'resume', words: string[], version: string): Promise<number> {
  const parsed = parseArguments(words, {
    out: 'value',
    workers: 'value',
    'in-process': 'flag',
    redis: 'value',
    quiet: 'flag',
    help: 'flag',
  });
  if (parsed.flag('help')) {
    process.stdout.write(usage(command));
    return 0;
  }
  const [place, ...more] = parsed.positionals;
  const what = command === 'run' ? 'one study file' : 'one folder of results';
  if (place === undefined || more.length > 0) {
    throw new UsageError(`study ${command}: takes ${what}, got ${parsed.positionals.join(' ') || 'none'}`);
  }
  if (command === 'resume' && parsed.value('out') !== undefined) {
    throw new UsageError('study resume: takes no --out; the folder is the one that it goes on with');
  }
  const engine = engineOf(parsed);
  const code = codeVersion(version);
  let folder: StudyFolder;
  if (command === 'run') {
    const plan = await loadStudy(place, STRATEGY_LOADER);
    folder = studyFolder(parsed.value('out') ?? `${plan.study.id}-results`, plan, code);
  } else folder = await existingStudyFolder(place, code, STRATEGY_LOADER);
  const state = await drive(folder, engine, parsed.flag('quiet'));
  if (!state.finished) {
    process.stderr.write(`Interrupted: ${state.missing.length} blocks of ${state.round} are missing.\n`);
    process.stderr.write(`Go on with: sweepwise study resume ${folder.path}\n`);
    return 130;
  }
  const files = await writeReport(folder, state);
  process.stdout.write(`${files.map((file) => resolve(file)).join('\n')}\n`);
  return 0;
}

function engineOf(parsed: ParsedArguments): Engine {
  const workers = numberOption('workers', parsed.value('workers'), 1, 512, true);
  const redis = parsed.value('redis');
  const ways = [workers !== undefined && '--workers', parsed.flag('in-process') && '--in-process', redis && '--redis'];
  const given = ways.filter((way) => typeof way === 'string');
  if (given.length > 1) throw new UsageError(`study: takes one of ${given.join(', ')}, got ${given.length}`);
  if (parsed.flag('in-process')) return inProcessEngine();
  if (redis !== undefined) return redisEngine(checkRedisUrl(redis));
  return threadsEngine(workers ?? availableParallelism(), STRATEGY_LOADER);
}

async function drive(folder: StudyFolder, engine: Engine, quiet: boolean): Promise<StudyState> {
  const stop = new AbortController();
  const onSignal = () => stop.abort();
  process.on('SIGINT', onSignal);
  process.on('SIGTERM', onSignal);
  const show = quiet ? () => {} : progressLine(engine.label);
  try {
    return await driveStudy({
      store: folder,
      engine,
      signal: stop.signal,
      progress: show,
      note: (text) => process.stderr.write(`\nnote: ${text}\n`),
    });
  } finally {
    if (!quiet && process.stderr.isTTY) process.stderr.write('\r\x1b[K');
    process.off('SIGINT', onSignal);
    process.off('SIGTERM', onSignal);
    await engine.close();
  }
}

/** Writes one line that is renewed on a terminal, or a line for every tenth of a round into a file. */
function progressLine(label: string): (state: StudyProgress) => void {
  const toTerminal = process.stderr.isTTY === true;
  let shownAt = 0;
  let shown = '';
  return ({ round, doneInRound, inRound, madeNow, secondsNow }) => {
    const tenth = `${round} ${Math.floor((10 * doneInRound) / inRound)}`;
    const now = performance.now();
    if (toTerminal ? now - shownAt < 200 && doneInRound < inRound : tenth === shown) return;
    shownAt = now;
    shown = tenth;
    const rate = madeNow / secondsNow;
    const left = rate > 0 ? `, ${rate.toFixed(1)} recordings/s, ${timeText((inRound - doneInRound) / rate)} left` : '';
    const text = `${round}: ${doneInRound} of ${inRound} recordings on ${label}${left}`;
    process.stderr.write(toTerminal ? `\r\x1b[K${text}` : `${text}\n`);
  };
}

function timeText(seconds: number): string {
  if (seconds < 90) return `${Math.ceil(seconds)} s`;
  return seconds < 5400 ? `${Math.ceil(seconds / 60)} min` : `${(seconds / 3600).toFixed(1)} h`;
}

/** Tells how far a study is, without running anything. */
export async function studyStatusCommand(words: string[], version: string): Promise<number> {
  const parsed = parseArguments(words, { json: 'flag', help: 'flag' });
  if (parsed.flag('help')) {
    process.stdout.write('usage: sweepwise study status FOLDER [--json]\n');
    return 0;
  }
  const [place, ...more] = parsed.positionals;
  if (place === undefined || more.length > 0) {
    throw new UsageError(`study status: takes one folder of results, got ${parsed.positionals.join(' ') || 'none'}`);
  }
  const folder = await existingStudyFolder(place, codeVersion(version), STRATEGY_LOADER);
  let last: StudyProgress | null = null;
  const state = await driveStudy({
    store: folder,
    engine: null,
    signal: new AbortController().signal,
    progress: (now) => {
      last = now;
    },
    note: () => {},
  });
  const { round, doneInRound, inRound } = last as unknown as StudyProgress;
  const { study, hash, conditions, settings } = folder.plan;
  if (parsed.flag('json')) {
    const missingBlocks = state.missing.length;
    const object = { study: study.id, hash, version: folder.version, finished: state.finished, round };
    process.stdout.write(`${JSON.stringify({ ...object, doneInRound, inRound, missingBlocks })}\n`);
    return 0;
  }
  process.stdout.write(
    `${study.id} (${hash}), version ${folder.version}\n` +
      `${conditions.length} conditions, ${settings.length} settings, at most ${mostRecordings(folder.plan)} recordings\n` +
      `${round}: ${doneInRound} of ${inRound} recordings${state.finished ? '; finished' : ''}\n` +
      (state.finished
        ? ''
        : `${state.missing.length} blocks are missing; go on with: sweepwise study resume ${place}\n`),
  );
  return 0;
}
