/**
 * Runs the standard recording once with the real pipeline and prints one line of JSON: time, memory and findings.
 *
 * A process of its own for each run, because engines compile differently from process to process.
 * Arguments: seed, length factor.
 */
import { lanesOf, openLane } from '../../src/core/session/lanes.ts';
import { runningTruth } from '../../src/core/session/runningTruth.ts';
import { averagingContext, startSession } from '../../src/core/session/session.ts';
import { findings } from './findings.ts';
import { standardSampleCount, standardScenario } from './standardScenario.ts';

const WARM_UP_SWEEP_COUNT = 2000; // by then the engine has compiled everything, even on a busy machine

const [seed = '1', lengthFactor = '1'] = process.argv.slice(2);
const scenario = standardScenario(Number(lengthFactor));
record('warm-up', WARM_UP_SWEEP_COUNT);
const startNs = process.hrtime.bigint();
const startCpu = process.cpuUsage();
const result = record(seed, Infinity);
const seconds = Number(process.hrtime.bigint() - startNs) / 1e9;
const { user, system } = process.cpuUsage(startCpu); // µs, all threads: collecting garbage and compiling too
const cpuSeconds = (user + system) / 1e6;
const sampleCount = standardSampleCount(scenario, result.sweepCount);
const peakMb = process.resourceUsage().maxRSS / 1024;
console.log(JSON.stringify({ seconds, cpuSeconds, sampleCount, peakMb, findings: result.findings }));

/** Records, and averages both channels with every strategy. What it returns keeps the work from being optimised away. */
function record(seedOfRun: string, sweepLimit: number) {
  const context = averagingContext(scenario);
  const session = startSession(scenario, seedOfRun);
  const lanes = [0, 1].map(() => lanesOf(scenario).map((setting) => openLane(setting, context)));
  const truths = [0, 1].map(() => runningTruth(context.samplesPerSweep));
  const noise = findings(context, Math.min(session.sweepCount, sweepLimit));
  let sweepCount = 0;
  for (let sweep = session.nextSweep(); sweep && sweepCount < sweepLimit; sweep = session.nextSweep()) {
    const { index, timeS, polarity } = sweep;
    for (let c = 0; c < 2; c++) {
      const meta = { index, timeS, polarity, overRange: sweep.overRange[c] };
      for (const { averager } of lanes[c]) averager.add(sweep.recordedUv[c], meta);
      truths[c].add(sweep.truthUv[c]);
    }
    noise.add(sweep.recordedUv[0], sweep.truthUv[0]);
    sweepCount++;
  }
  return { sweepCount, findings: noise.read(lanes[0], truths[0]) };
}
