/**
 * Runs the standard recording once with the real pipeline and prints one line of JSON: time, memory and findings.
 *
 * A process of its own for each run, because engines compile differently from process to process.
 * Arguments: seed, length factor.
 */
import type { Scenario } from '../../src/core/scenario/schema.ts';
import { lanesOf, openLane } from '../../src/core/session/lanes.ts';
import { runningTruth } from '../../src/core/session/runningTruth.ts';
import { averagingContext, startSession } from '../../src/core/session/session.ts';
import { findings } from './findings.ts';
import { standardSampleCount, standardScenario } from './standardScenario.ts';

const WARM_UP_COUNT = 3; // recordings; a race over replicates is as warm after its first few patients

const [seed = '1', lengthFactor = '1'] = process.argv.slice(2);
const { seconds: coldSeconds, sampleCount: coldSampleCount } = timed(standardScenario(), 'cold');
for (let k = 1; k < WARM_UP_COUNT; k++) timed(standardScenario(), `warm-up ${k}`);
const { seconds, cpuSeconds, sampleCount, found } = timed(standardScenario(Number(lengthFactor)), seed);
const coldNs = (1e9 * coldSeconds) / coldSampleCount / 2;
const peakMb = process.resourceUsage().maxRSS / 1024;
console.log(JSON.stringify({ seconds, cpuSeconds, sampleCount, coldNs, peakMb, findings: found }));

/** Records once and takes the time. */
function timed(scenario: Scenario, seedOfRun: string) {
  const startNs = process.hrtime.bigint();
  const startCpu = process.cpuUsage();
  const { sweepCount, found } = record(scenario, seedOfRun);
  const { user, system } = process.cpuUsage(startCpu); // µs, all threads: collecting garbage and compiling too
  const seconds = Number(process.hrtime.bigint() - startNs) / 1e9;
  return { seconds, cpuSeconds: (user + system) / 1e6, sampleCount: standardSampleCount(scenario, sweepCount), found };
}

/** Records, and averages both channels with every strategy. What it returns keeps the work from being optimised away. */
function record(scenario: Scenario, seedOfRun: string) {
  const context = averagingContext(scenario);
  const session = startSession(scenario, seedOfRun);
  const lanes = [0, 1].map(() => lanesOf(scenario).map((setting) => openLane(setting, context)));
  const truths = [0, 1].map(() => runningTruth(context.samplesPerSweep));
  const noise = findings(context, session.sweepCount);
  let sweepCount = 0;
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
    const { index, timeS, polarity } = sweep;
    for (let c = 0; c < 2; c++) {
      const meta = { index, timeS, polarity, overRange: sweep.overRange[c] };
      for (const { averager } of lanes[c]) averager.add(sweep.recordedUv[c], meta);
      truths[c].add(sweep.truthUv[c]);
    }
    noise.add(sweep.recordedUv[0], sweep.truthUv[0]);
    sweepCount++;
  }
  return { sweepCount, found: noise.read(lanes[0], truths[0]) };
}
