/**
 * `npm run bench`, studies: recordings a second on one and on two worker threads, and memory against the number of rows.
 *
 * Each figure is of a process of its own, taken in turn; medians. Start, planning and the first recordings do not count:
 * each thread compiles for itself, and the compiler's threads take the second core. Two processes that share nothing
 * run beside each other in the same turn: what they reach together is what the machine gives. A benchmark, never a
 * test: nothing here passes or fails.
 */
import { execFile } from 'node:child_process';
import { fileURLToPath } from 'node:url';
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import { blocksOf } from '../../src/study/block.ts';
import { gatherRows } from '../../src/study/gathered.ts';
import { studyMeasures } from '../../src/study/measures.ts';
import { benchPlan } from './studyPlan.ts';

interface StudyRun {
  recordingsPerS: number;
  /** Processor time of the whole process for one recording, ms. */
  cpuMsEach: number;
  peakMb: number;
  rowCount: number;
}

const ROUNDS = 3;
const WARM_UP = 40;
const MEASURED = 60;
const GOAL_SCALING = 1.8;

function studyRun(workers: number, replicates: number, warmUp = WARM_UP): Promise<StudyRun> {
  const script = fileURLToPath(new URL('studyProcess.ts', import.meta.url));
  const settings = fileURLToPath(new URL('../../tsconfig.run.json', import.meta.url));
  const words = ['--import', 'tsx', script, ...[workers, replicates, warmUp].map(String)];
  return new Promise((resolve) => {
    execFile(process.execPath, words, { env: { ...process.env, TSX_TSCONFIG_PATH: settings } }, (error, out, told) => {
      if (!error) return resolve(JSON.parse(out));
      console.error(`bench: studyProcess.ts must end well, got ${told.trim()}`);
      process.exit(1);
    });
  });
}

function median(values: number[]): number {
  const sorted = values.slice().sort((a, b) => a - b);
  return (sorted[(sorted.length - 1) >> 1] + sorted[sorted.length >> 1]) / 2;
}

/** Bytes in use, figures in typed arrays and the rest. */
function held(): number {
  const { arrayBuffers, heapUsed } = process.memoryUsage();
  return arrayBuffers + heapUsed;
}

/** Bytes that the figures of a report take for each row, measured on made-up rows. */
function figureBytes(rowCount: number): number {
  const plan = benchPlan(rowCount / 6);
  const settings = plan.settings.map((_, k) => k);
  setFlagsFromString('--expose-gc');
  const collect = runInNewContext('gc') as () => void;
  collect();
  const before = held();
  const gathered = gatherRows(plan);
  const figures = settings.map(() => [0, ...studyMeasures.map(() => 1)]);
  for (const block of blocksOf(plan, 0, 0, plan.replicates.to, settings)) {
    const patients = Array.from({ length: block.replicateCount }, (_, k) => {
      const replicate = block.firstReplicate + k;
      return { replicate, scenarioHash: '', targetNv: 40, durationS: 60, sweepsOffered: 100, drawn: {}, figures };
    });
    gathered.add(block, { block: block.id, study: plan.hash, version: 'bench', patients });
  }
  collect();
  return (held() - before) / gathered.rowCount();
}

const one: StudyRun[] = [];
const two: StudyRun[] = [];
const beside: number[] = [];
for (let round = 0; round < ROUNDS; round++) {
  one.push(await studyRun(1, WARM_UP + MEASURED));
  two.push(await studyRun(2, 2 * (WARM_UP + MEASURED)));
  const pair = await Promise.all([1, 2].map(() => studyRun(1, WARM_UP + MEASURED)));
  beside.push(pair[0].recordingsPerS + pair[1].recordingsPerS);
}
const rate = (runs: StudyRun[]) => median(runs.map(({ recordingsPerS }) => recordingsPerS));
const cpu = (runs: StudyRun[]) => median(runs.map(({ cpuMsEach }) => cpuMsEach)).toFixed(0);
const over = (rates: number[]) => median(rates.map((both, k) => both / one[k].recordingsPerS));
const scaling = over(two.map(({ recordingsPerS }) => recordingsPerS));
const ceiling = over(beside);
console.log('\nStudies: the jaw clencher, 60 s, 6 settings');
console.log(
  `  1 thread ${rate(one).toFixed(1)} recordings/s, 2 threads ${rate(two).toFixed(1)}: ` +
    `${scaling.toFixed(2)} times as many; goal ${GOAL_SCALING}`,
);
console.log(
  `  two processes that share nothing, side by side: ${ceiling.toFixed(2)} times as many as one thread; ` +
    `threads reach ${((100 * scaling) / ceiling).toFixed(0)} % of that`,
);
console.log(`  processor time of a recording: ${cpu(one)} ms with one thread, ${cpu(two)} ms with two`);
const short = await studyRun(2, 24, 0);
const longest = two[two.length - 1];
console.log(
  `  peak memory ${short.peakMb.toFixed(0)} MB for ${short.rowCount} rows, ` +
    `${longest.peakMb.toFixed(0)} MB for ${longest.rowCount} (${(longest.peakMb / short.peakMb).toFixed(2)} times); rows go to the disk`,
);
const bytes = figureBytes(240000);
console.log(
  `  report, and rounds that depend on rows: ${bytes.toFixed(0)} bytes a row, ${bytes.toFixed(0)} MB for a million rows`,
);
