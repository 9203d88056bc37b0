/**
 * `npm run bench`: the speed of the standard recording, beside a NumPy/SciPy script that does the same work.
 *
 * Both programs run in separate processes, taken in turn, because timings vary from process to process and other work
 * on the machine comes and goes. Printed are medians, with the range; the ratio is the median of the ratios of
 * neighbours. Figures are of a warm process, without start and imports. Processor time counts all threads, those that
 * compile and collect garbage too; on a busy machine it is what can still be compared.
 * A benchmark, never a test: nothing here passes or fails.
 *
 * Argument: number of processes, default 5.
 */
import { spawnSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { cpus } from 'node:os';
import { fileURLToPath } from 'node:url';
import { STANDARD_LANES } from '../../src/core/session/lanes.ts';
import { agreement } from './agreement.ts';
import type { Findings } from './findings.ts';
import { STANDARD_SWEEP_COUNT, standardSampleCount, standardScenario } from './standardScenario.ts';

interface Run {
  seconds: number;
  cpuSeconds: number;
  sampleCount: number;
  peakMb: number;
  findings: Findings;
}

interface StageTimings {
  perSample: Record<string, number>;
  strategiesUs: Record<string, number>;
  sources: Record<string, number>;
  responses: Record<string, number>;
}

const GOAL_RATIO = 5;
const LENGTH_FACTOR = 4;
// NumPy's linear algebra would otherwise take every core.
const ONE_CORE = { ...process.env, OMP_NUM_THREADS: '1', OPENBLAS_NUM_THREADS: '1' };
const here = (name: string) => fileURLToPath(new URL(name, import.meta.url));
const processCount = Number(process.argv[2] ?? 5);
if (!(processCount >= 1 && Number.isInteger(processCount))) {
  console.error(`bench: number of processes must be a whole number >= 1, got ${process.argv[2]}`);
  process.exit(1);
}

const scenario = standardScenario();
const document = JSON.stringify(scenario);
const sampleCount = standardSampleCount(scenario, STANDARD_SWEEP_COUNT);
const python = findPython();

console.log(
  `Standard recording: ${STANDARD_SWEEP_COUNT} sweeps at ${scenario.stimulus.ratePerS}/s, 2 channels, ` +
    `${scenario.converter.sampleRateHz / 1000} kHz, ${(sampleCount / scenario.converter.sampleRateHz).toFixed(0)} s, ` +
    `${sampleCount} samples a channel`,
);
console.log(
  `Machine: ${machine()}, one core a program; Node ${process.version}${python ? `, ${python.versions}` : ''}`,
);
console.log(`${processCount} processes each, in turn; median (smallest – largest)\n`);

const ours: (Run & { coldNs: number })[] = [];
const peers: Run[] = [];
for (let k = 1; k <= processCount; k++) {
  ours.push(runNode<Run & { coldNs: number }>('recordingProcess.ts', [String(k), '1']));
  if (python) peers.push(runPeer(python.command, k));
}
const longer = runNode<Run>('recordingProcess.ts', ['1', String(LENGTH_FACTOR)]);

console.log(
  `${''.padEnd(22)}${'ns/sample/channel'.padEnd(26)}${'of processor time'.padEnd(26)}${'x real time'.padEnd(14)}peak memory`,
);
printProgram('Sweepwise', ours);
if (python) {
  printProgram('NumPy/SciPy script', peers);
  const ratios = (time: 'seconds' | 'cpuSeconds') => spread(ours.map((run, k) => peers[k][time] / run[time]));
  console.log(
    `Ratio: ${ratios('seconds')} on the clock, ${ratios('cpuSeconds')} in processor time; goal ${GOAL_RATIO}`,
  );
} else {
  console.log(
    '\nNo Python with NumPy and SciPy was found, so there is nothing to compare with. On Debian they come with',
  );
  console.log('  apt-get install python3-numpy python3-scipy');
  console.log('Another interpreter can be named in the environment variable PYTHON.');
}
console.log(
  `The first recording of a process, while the engine still compiles: ${spread(ours.map(({ coldNs }) => coldNs))} ns`,
);
const memoryMb = median(ours.map(({ peakMb }) => peakMb));
console.log(
  `Memory at ${LENGTH_FACTOR} times the length: ${longer.peakMb.toFixed(0)} MB, ` +
    `${(longer.peakMb / memoryMb).toFixed(2)} times as much; speed ${nsPerSample(longer, longer.cpuSeconds).toFixed(1)} ns of processor time\n`,
);

if (python && processCount >= 3) {
  const lines = agreement(
    ours.map((run) => run.findings),
    peers.map((run) => run.findings),
  );
  console.log('Is it the same work? First channel, mean over the processes (each with its own seed):');
  for (const line of lines) console.log(line);
  console.log('');
}

printStages();

function printProgram(name: string, runs: Run[]): void {
  const clockNs = runs.map((run) => nsPerSample(run, run.seconds));
  const cpuNs = runs.map((run) => nsPerSample(run, run.cpuSeconds));
  const realTime = runs.map((run) => run.sampleCount / scenario.converter.sampleRateHz / run.seconds);
  const memory = median(runs.map(({ peakMb }) => peakMb));
  console.log(
    `${name.padEnd(22)}${spread(clockNs).padEnd(26)}${spread(cpuNs).padEnd(26)}` +
      `${median(realTime).toFixed(0).padEnd(14)}${memory.toFixed(0)} MB`,
  );
}

/** Prints the time of each stage, of every source of noise and of every kind of response, the slowest first. */
function printStages(): void {
  const timings = Array.from({ length: Math.min(3, processCount) }, (_, k) =>
    runNode<StageTimings>('stageProcess.ts', [String(k + 1)]),
  );
  printList('Stages of the standard recording alone, ns per sample and channel:', (timing) => timing.perSample);
  printStrategies();
  printList('Every source of noise alone, as busy as the tests make it, likewise:', (timing) => timing.sources);
  printList('Every response alone, at the rates of its usual session, likewise:', (timing) => timing.responses);

  /** What a sweep costs every strategy, and the standard four beside what it costs to generate it. */
  function printStrategies(): void {
    const usOf = (id: string) => median(timings.map(({ strategiesUs }) => strategiesUs[id]));
    console.log('Every strategy, µs per sweep of one channel (in hindsight: one reading at the end, shared out):');
    for (const id of Object.keys(timings[0].strategiesUs).sort((a, b) => usOf(b) - usOf(a))) {
      console.log(`  ${id.padEnd(30)}${usOf(id).toFixed(2).padStart(9)}`);
    }
    const samplesPerInterval = scenario.converter.sampleRateHz / scenario.stimulus.ratePerS;
    const generatedUs =
      (median(timings.map(({ perSample }) => perSample['session without averages'])) * samplesPerInterval) / 1000;
    const together = STANDARD_LANES.reduce((sum, id) => sum + usOf(id), 0);
    console.log(
      `  the standard four together ${together.toFixed(2)} µs, ${(together / generatedUs).toFixed(3)} of the ` +
        `${generatedUs.toFixed(1)} µs that generating a sweep costs a channel; goal 0.25\n`,
    );
  }

  function printList(title: string, listOf: (timing: StageTimings) => Record<string, number>): void {
    const stages = Object.keys(listOf(timings[0])).map((stage) => ({
      stage,
      ns: median(timings.map((timing) => listOf(timing)[stage])),
    }));
    console.log(title);
    for (const { stage, ns } of stages.sort((a, b) => b.ns - a.ns)) {
      console.log(`  ${stage.padEnd(30)}${ns.toFixed(2).padStart(7)}`);
    }
  }
}

function runNode<Result>(script: string, parameters: string[]): Result {
  return lineOf<Result>(script, spawnSync(process.execPath, ['--import', 'tsx', here(script), ...parameters]));
}

function runPeer(command: string, seed: number): Run {
  return lineOf('peer.py', spawnSync(command, [here('peer.py'), String(seed)], { input: document, env: ONE_CORE }));
}

function lineOf<Result>(script: string, { status, stdout, stderr, error }: ReturnType<typeof spawnSync>): Result {
  if (status === 0) return JSON.parse(String(stdout));
  console.error(`bench: ${script} must end well, got ${error?.message ?? String(stderr).trim()}`);
  process.exit(1);
}

/** Finds an interpreter that has NumPy and SciPy: Debian's own before whichever comes first on the path. */
function findPython(): { command: string; versions: string } | null {
  const script =
    'import platform, numpy, scipy; print(f"Python {platform.python_version()}, ' +
    'NumPy {numpy.__version__}, SciPy {scipy.__version__}")';
  const commands = process.env.PYTHON ? [process.env.PYTHON] : ['/usr/bin/python3', 'python3'];
  for (const command of commands) {
    const { status, stdout } = spawnSync(command, ['-c', script]);
    if (status === 0) return { command, versions: String(stdout).trim() };
  }
  return null;
}

/** Names the processor; virtual machines say little, so its family and model come along where the system tells. */
function machine(): string {
  const { model } = cpus()[0];
  let family = '';
  try {
    const text = readFileSync('/proc/cpuinfo', 'utf8');
    const entry = (key: string) => text.match(new RegExp(`^${key}\\s*: (.*)$`, 'm'))?.[1];
    family = ` (family ${entry('cpu family')}, model ${entry('model')}, ${entry('cpu MHz')} MHz)`;
  } catch {
    // Not Linux: the model's name has to do.
  }
  return `${model.trim()}${family}, ${cpus().length} cores`;
}

function nsPerSample({ sampleCount: count }: Run, seconds: number): number {
  return (1e9 * seconds) / count / 2;
}

function median(values: number[]): number {
  const sorted = values.slice().sort((a, b) => a - b);
  return (sorted[(sorted.length - 1) >> 1] + sorted[sorted.length >> 1]) / 2;
}

function spread(values: number[]): string {
  return `${median(values).toFixed(1)} (${Math.min(...values).toFixed(1)} – ${Math.max(...values).toFixed(1)})`;
}
