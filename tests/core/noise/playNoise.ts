import type { NoiseSource, PlayingNoise } from '../../../src/core/noise/noiseSource.ts';
import { resolveScenario } from '../../../src/core/scenario/resolve.ts';
import type { Scenario } from '../../../src/core/scenario/schema.ts';
import { stimulusSchedule } from '../../../src/core/stimulus/schedule.ts';

/** Plays one source alone and hands each block of both channels to a reader, which must not keep it. */
export function playInBlocks(
  source: NoiseSource,
  document: object,
  sampleCount: number,
  blockSize: number,
  read: (channelsUv: [Float64Array, Float64Array], start: number) => void,
  seed = '7',
): void {
  const scenario = resolveScenario(document);
  const playing = source.create(scenario, seed);
  if (!playing) throw new RangeError(`playInBlocks: ${source.id} must be part of the scenario`);
  presentStimuli(playing, scenario, sampleCount, seed);
  const block: [Float64Array, Float64Array] = [new Float64Array(blockSize), new Float64Array(blockSize)];
  for (let start = 0; start < sampleCount; start += blockSize) {
    for (const channel of block) channel.fill(0);
    playing.addUv(block, start, blockSize);
    read(block, start);
  }
}

/** Plays one source alone into silence and keeps everything. */
export function playNoise(
  source: NoiseSource,
  document: object,
  sampleCount: number,
  seed = '7',
): [Float64Array, Float64Array] {
  const all: [Float64Array, Float64Array] = [new Float64Array(sampleCount), new Float64Array(sampleCount)];
  const scenario = resolveScenario(document);
  const playing = source.create(scenario, seed);
  if (playing) presentStimuli(playing, scenario, sampleCount, seed);
  playing?.addUv(all, 0, sampleCount);
  return all;
}

/** Tells a source that listens of every stimulus whose time has come within the given samples. */
export function presentStimuli(playing: PlayingNoise, scenario: Scenario, sampleCount: number, seed: string): void {
  if (!playing.present) return;
  const next = stimulusSchedule(scenario, seed);
  for (let heard = next(); heard.sample < sampleCount; heard = next()) playing.present(heard);
}
