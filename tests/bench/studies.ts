/**
 * `npm run bench`, studies: recordings a second on one and on two worker threads, and memory against the number of rows.
 *
 * Each figure is of a process of its own, taken in turn; medians. Start and planning do not count. The threads' memory
 * counts too. A benchmark, never a test: nothing here passes or fails.
 */
import { spawnSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';

interface StudyRun {
  recordingsPerS: number;
  peakMb: number;
  rowCount: number;
}

const ROUNDS = 3;
const GOAL_SCALING = 1.8;

function studyRun(workers: number, replicates: number): StudyRun {
  const script = fileURLToPath(new URL('studyProcess.ts', import.meta.url));
  const words = ['--import', 'tsx', script, String(workers), String(replicates)];
  const { status, stdout, stderr } = spawnSync(process.execPath, words, { encoding: 'utf8' });
  if (status === 0) return JSON.parse(stdout);
  console.error(`bench: studyProcess.ts must end well, got ${stderr.trim()}`);
  process.exit(1);
}

function median(values: number[]): number {
  const sorted = values.slice().sort((a, b) => a - b);
  return (sorted[(sorted.length - 1) >> 1] + sorted[sorted.length >> 1]) / 2;
}

const runs = { one: [] as StudyRun[], two: [] as StudyRun[] };
for (let round = 0; round < ROUNDS; round++) {
  runs.one.push(studyRun(1, 48));
  runs.two.push(studyRun(2, 48));
}
const rate = (own: StudyRun[]) => median(own.map(({ recordingsPerS }) => recordingsPerS));
const scaling = median(runs.two.map(({ recordingsPerS }, k) => recordingsPerS / runs.one[k].recordingsPerS));
console.log('\nStudies: the jaw clencher, 60 s, 6 settings');
console.log(
  `  1 thread ${rate(runs.one).toFixed(1)} recordings/s, 2 threads ${rate(runs.two).toFixed(1)}: ` +
    `${scaling.toFixed(2)} times as many; goal ${GOAL_SCALING}`,
);
const short = studyRun(2, 24);
const long = studyRun(2, 192);
console.log(
  `  peak memory ${short.peakMb.toFixed(0)} MB for ${short.rowCount} rows, ` +
    `${long.peakMb.toFixed(0)} MB for ${long.rowCount} (${(long.peakMb / short.peakMb).toFixed(2)} times)`,
);
