/**
 * `npm run bench`: the standard recording with the real pipeline and, beside it, a NumPy/SciPy script doing the same
 * work, each run in a process of its own, in turn. Prints medians: ns per sample and channel, times real time, ratio,
 * peak memory, then the cost of each stage. A benchmark, never a test: nothing here passes or fails.
 */
import { spawnSync } from 'node:child_process';
import { cpus } from 'node:os';
import { fileURLToPath } from 'node:url';
import type { Findings } from './findings.ts';
import { standardScenario } from './standardScenario.ts';

const PROCESSES = 5; // of each kind, in turn, so that a slow minute of the machine hits both

interface Run {
  seconds: number;
  sampleCount: number;
  peakMb: number;
  findings: Findings;
}

const path = (name: string) => fileURLToPath(new URL(name, import.meta.url));
const tsx = fileURLToPath(import.meta.resolve('tsx'));

/** Runs one process to its end; null if it could not do its work. */
function run<Result>(command: string, words: string[], input = ''): Result | null {
  // One core each: NumPy's linear algebra would otherwise take both.
  const env = { ...process.env, OMP_NUM_THREADS: '1', OPENBLAS_NUM_THREADS: '1' };
  const { status, stdout } = spawnSync(command, words, { encoding: 'utf8', input, env, maxBuffer: 1e8 });
  return status === 0 ? (JSON.parse(stdout) as Result) : null;
}

const ours = (seed: number, lengthFactor = 1) =>
  run<Run>(process.execPath, ['--import', tsx, path('recordingProcess.ts'), String(seed), String(lengthFactor)]);
const peer = (seed: number) =>
  run<Run>('/usr/bin/python3', [path('peer.py'), String(seed)], JSON.stringify(standardScenario()));

const median = (values: number[]) => values.sort((a, b) => a - b)[values.length >> 1];
const perSampleNs = ({ seconds, sampleCount }: Run) => (seconds * 1e9) / sampleCount / 2;

function row(name: string, runs: Run[]): string {
  const ns = median(runs.map(perSampleNs));
  const { sampleRateHz } = standardScenario().converter;
  const timesReal = 1e9 / (2 * ns * sampleRateHz);
  const memoryMb = median(runs.map(({ peakMb }) => peakMb));
  return `${name.padEnd(28)}${ns.toFixed(1).padStart(8)}${timesReal.toFixed(0).padStart(12)}${memoryMb.toFixed(0).padStart(12)}`;
}

console.log(
  `${cpus()[0]?.model ?? 'unknown processor'}, Node ${process.version}, ${PROCESSES} processes each, medians`,
);
const ourRuns: Run[] = [];
const peerRuns: Run[] = [];
for (let seed = 1; seed <= PROCESSES; seed++) {
  const our = ours(seed);
  if (!our) throw new Error(`standardRecording: the run with seed ${seed} failed`);
  ourRuns.push(our);
  const theirs = peer(seed);
  if (theirs) peerRuns.push(theirs);
}
console.log('\nstandard recording            ns/sample   x real time     peak MB');
console.log(row('Sweepwise', ourRuns));
if (peerRuns.length === PROCESSES) {
  console.log(row('NumPy/SciPy script', peerRuns));
  const ratios = ourRuns.map((our, k) => perSampleNs(peerRuns[k]) / perSampleNs(our));
  console.log(`ratio, run by run: median ${median(ratios).toFixed(2)}`);
  console.log('\nsame work?                       Sweepwise  NumPy/SciPy   (medians over seeds, nV)');
  const compare = (name: string, read: (findings: Findings) => number) => {
    const [a, b] = [ourRuns, peerRuns].map((runs) => 1000 * median(runs.map(({ findings }) => read(findings))));
    console.log(`${name.padEnd(30)}${a.toFixed(1).padStart(12)}${b.toFixed(1).padStart(13)}`);
  };
  compare('noise of a quiet sweep', (findings) => findings.quietNoiseUv);
  compare('response', (findings) => findings.responseUv);
  for (const id of Object.keys(ourRuns[0].findings.residualNoiseUv)) {
    compare(`residual noise, ${id}`, (findings) => findings.residualNoiseUv[id]);
  }
} else {
  console.log('NumPy/SciPy script: cannot run; on Debian: apt-get install python3-numpy python3-scipy');
}

const long = ours(1, 4);
if (long) {
  const growth = long.peakMb - median(ourRuns.map(({ peakMb }) => peakMb));
  console.log(
    `\nfour times as long: ${perSampleNs(long).toFixed(1)} ns/sample, peak memory ${growth.toFixed(0)} MB more`,
  );
}

const stages = run<{ perSample: Record<string, number> }>(process.execPath, [
  '--import',
  tsx,
  path('stageProcess.ts'),
  '1',
]);
if (stages) {
  console.log('\nns per sample and channel, by stage:');
  for (const [name, ns] of Object.entries(stages.perSample))
    console.log(`${name.padEnd(40)}${ns.toFixed(2).padStart(8)}`);
}
