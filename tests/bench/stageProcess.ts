/**
 * Times each stage of the standard recording alone and prints one line of JSON: ns per sample and channel, by stage.
 *
 * Every stage is the real one, run over the same blocks as in a session. What is left of a whole recording when all of
 * them are taken off is the cutting and copying. After that, alone as well: every source of noise there is, as busy as
 * the tests make it, at the sample rate of the standard recording; and every kind of response, in its usual session.
 * Argument: seed.
 */
import { averagingStrategies } from '../../src/core/averaging/index.ts';
import { recordingChain } from '../../src/core/chain/chain.ts';
import { noiseSources } from '../../src/core/noise/index.ts';
import type { NoiseSource } from '../../src/core/noise/noiseSource.ts';
import { fillGaussian, stream } from '../../src/core/random/stream.ts';
import { evokedResponse } from '../../src/core/response/evokedResponse.ts';
import { responseKinds } from '../../src/core/response/index.ts';
import { resolveScenario } from '../../src/core/scenario/resolve.ts';
import type { Scenario } from '../../src/core/scenario/schema.ts';
import { laneOf, openLane, STANDARD_LANES } from '../../src/core/session/lanes.ts';
import { averagingContext, startSession } from '../../src/core/session/session.ts';
import { stimulusSchedule } from '../../src/core/stimulus/schedule.ts';
import { joined, rows, type Sections } from '../core/noise/everything.ts';
import { standardScenario } from './standardScenario.ts';

const BLOCK = 1024;
const BLOCK_COUNT = 2048; // 2 M samples a stage: 1 to 30 ms each
const ROUNDS = 5; // the first is warm-up
const SWEEP_COUNT = 6000;

const [seed = '1'] = process.argv.slice(2);
const scenario = standardScenario();
const perSample: Record<string, number> = {};
const strategiesUs: Record<string, number> = {}; // µs per sweep; hindsight: one reading at the end, shared out
const sources: Record<string, number> = {};
const responses: Record<string, number> = {};
let sink = 0; // printed, so that no stage can be optimised away

timeBlocks('one normal number a sample', () => {
  const draws = [0, 1].map((channel) => stream(seed, 'bench', channel));
  return (block) => {
    for (let c = 0; c < 2; c++) fillGaussian(draws[c], block[c], BLOCK);
  };
});
timeBlocks('response', () => playResponse(scenario));
for (const source of noiseSources) {
  if (source.create(scenario, seed) === null) continue;
  timeBlocks(`noise: ${source.id}`, () => {
    const playing = source.create(scenario, seed);
    return (block, start) => playing?.addUv(block, start, BLOCK);
  });
}
const input = [new Float64Array(BLOCK), new Float64Array(BLOCK)];
for (const source of noiseSources) source.create(scenario, seed)?.addUv(input, 0, BLOCK);
timeBlocks('chain: recorded', () => {
  const chain = recordingChain(scenario);
  return (block, start) => {
    for (let c = 0; c < 2; c++) block[c].set(input[c]);
    chain.recordUv(block, start, BLOCK);
  };
});
timeBlocks('chain: truth', () => {
  const chain = recordingChain(scenario);
  return (block) => {
    for (let c = 0; c < 2; c++) block[c].set(input[c]);
    chain.truthUv(block, BLOCK);
  };
});
timeStrategies();
timeSession();
for (const source of noiseSources) {
  const busy = resolveScenario({ ...joined({ ...standardSections() }, rows[source.id].loud), id: 'busy' });
  timeBlocks(source.id, () => playSource(source, busy), sources);
}
for (const { id } of responseKinds) {
  timeBlocks(id, () => playResponse(resolveScenario({ response: { kind: id } })), responses);
}
console.log(JSON.stringify({ perSample, strategiesUs, sources, responses, sink }));

/** The sections of the standard scenario that say how it is sampled, without its sources. */
function standardSections(): Sections {
  const { stimulus, amplifier, converter, filter, window } = scenario;
  return { stimulus, amplifier, converter, filter, window };
}

/** The response, the noise that belongs to it, and what it takes to tell it of the stimuli. */
function playResponse(patient: Scenario): (block: readonly Float64Array[], start: number) => void {
  const response = evokedResponse(patient, seed);
  const nextPresentation = stimulusSchedule(patient, seed);
  let upcoming = nextPresentation();
  return (block, start) => {
    for (; upcoming.sample < start + 2 * BLOCK; upcoming = nextPresentation()) response.present(upcoming);
    response.addUv(block, start, BLOCK);
    response.addNoiseUv?.(block, start, BLOCK);
  };
}

/** One source, with what it takes to tell it of the stimuli if it listens. */
function playSource(source: NoiseSource, patient: Scenario): (block: readonly Float64Array[], start: number) => void {
  const playing = source.create(patient, seed);
  if (!playing) throw new RangeError(`playSource: ${source.id} must be part of the busy scenario`);
  const nextPresentation = stimulusSchedule(patient, seed);
  let upcoming = nextPresentation();
  return (block, start) => {
    for (; playing.present && upcoming.sample < start + 2 * BLOCK; upcoming = nextPresentation()) {
      playing.present(upcoming);
    }
    playing.addUv(block, start, BLOCK);
  };
}

/** Times a stage that works on blocks; the setup is not counted. */
function timeBlocks(
  stage: string,
  create: () => (block: readonly Float64Array[], start: number) => void,
  list: Record<string, number> = perSample,
): void {
  const block = [new Float64Array(BLOCK), new Float64Array(BLOCK)];
  list[stage] = medianOf(() => {
    const run = create();
    return () => {
      for (let k = 0; k < BLOCK_COUNT; k++) {
        for (let c = 0; c < 2; c++) block[c].fill(0);
        run(block, k * BLOCK);
      }
      sink += block[0][BLOCK - 1];
      return 2 * BLOCK * BLOCK_COUNT;
    };
  });
}

/**
 * Times each strategy on the same few stored sweeps: the standard four per sample of the continuous recording, beside
 * the stages, and every strategy per sweep.
 */
function timeStrategies(): void {
  const context = averagingContext(scenario);
  const session = startSession(scenario, seed);
  const sweepsUv = Array.from({ length: 64 }, () => session.nextSweep()?.recordedUv[0].slice() as Float64Array);
  const samplesPerInterval = scenario.converter.sampleRateHz / scenario.stimulus.ratePerS;
  for (const { id } of averagingStrategies) {
    const isStandard = STANDARD_LANES.includes(id);
    const sweepCount = isStandard ? SWEEP_COUNT : SWEEP_COUNT / 6; // one of them does linear algebra at each sweep
    const nsPerSample = medianOf(() => {
      const { averager } = openLane(laneOf(scenario, id), context);
      const estimateUv = new Float64Array(context.samplesPerSweep);
      return () => {
        for (let index = 0; index < sweepCount; index++) {
          const polarity = index % 2 === 0 ? 1 : -1;
          const timeS = index / scenario.stimulus.ratePerS;
          averager.add(sweepsUv[index % 64], { index, timeS, polarity, overRange: false });
        }
        averager.read(estimateUv);
        sink += estimateUv[0];
        return sweepCount * samplesPerInterval;
      };
    });
    if (isStandard) perSample[`average: ${id}`] = nsPerSample;
    strategiesUs[id] = (nsPerSample * samplesPerInterval) / 1000;
  }
}

/** Times the session without strategies: sources, chain, cutting, copying. */
function timeSession(): void {
  const samplesPerInterval = scenario.converter.sampleRateHz / scenario.stimulus.ratePerS;
  perSample['session without averages'] = medianOf(() => {
    const session = startSession(scenario, seed);
    return () => {
      for (let k = 0; k < 6000; k++) sink += session.nextSweep()?.recordedUv[0][0] ?? 0;
      return 2 * 6000 * samplesPerInterval;
    };
  });
}

/** Returns the median of a few rounds, ns per sample, without the first. `prepare` returns the work to be timed. */
function medianOf(prepare: () => () => number): number {
  const rounds: number[] = [];
  for (let round = 0; round < ROUNDS; round++) {
    const work = prepare();
    const startNs = process.hrtime.bigint();
    const sampleCount = work();
    rounds.push(Number(process.hrtime.bigint() - startNs) / sampleCount);
  }
  const sorted = rounds.slice(1).sort((a, b) => a - b);
  return sorted[sorted.length >> 1];
}
