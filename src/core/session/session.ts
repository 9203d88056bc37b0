import { removeBaseline } from '../averaging/baseline.ts';
import type { AveragingContext, IntervalSamples, SweepMeta } from '../averaging/strategy.ts';
import { recordingChain } from '../chain/chain.ts';
import { leadMixing } from '../chain/leadConnections.ts';
import { noiseSources } from '../noise/index.ts';
import { CHANNEL_COUNT, type PlayingNoise } from '../noise/noiseSource.ts';
import { evokedResponse } from '../response/evokedResponse.ts';
import type { EvokedResponse } from '../response/responseKind.ts';
import { scenarioStages } from '../scenario/resolve.ts';
import type { Scenario } from '../scenario/schema.ts';
import { LEAD_IN_S, type Presentation, presentationCount, stimulusSchedule } from '../stimulus/schedule.ts';
import { type Behaviour, type BehaviourSensors, behaviourSensors } from './behaviour.ts';
import { makeStaged, stagedChain, stagedMixing, stagedSignal } from './staged.ts';

/** One sweep: the piece of recording around a stimulus. The arrays are reused by the next sweep. */
export interface Sweep {
  index: number;
  /** Stimulation time at which the sweep was complete, s. */
  timeS: number;
  /** Sample of the continuous recording at which the stimulus came. */
  sample: number;
  polarity: 1 | -1;
  /** Per channel: over-range, or guard time still running, within the sweep. */
  overRange: boolean[];
  /** Per channel, µV: what was recorded, baseline removed. */
  recordedUv: Float64Array[];
  /** Per channel, µV: the noise-free response through the same chain, same baseline rule. Sealed from strategies. */
  truthUv: Float64Array[];
  /** What was recorded since the sweep before, at most one beat back, to the end of this one: no baseline taken off. */
  interval(channel: number): IntervalSamples;
  /** What sensors beside the electrodes say of the patient during this sweep. */
  behaviour(): Behaviour;
}

/** What is told of the continuous recording while a session makes it. Arrays are reused: copy what is to be kept. */
interface RecordingListener {
  /** Tells of a stimulus, before the block that holds it. */
  present(presentation: Presentation): void;
  /**
   * Tells of the next block: what was recorded and the noise-free response through the same chain, µV per channel.
   *
   * @param start - its first sample   @param flagged - true if a channel was over-range, guard time included, anywhere
   *   in samples [from, to) up to the end of this block
   */
  record(
    start: number,
    recordedUv: readonly Float64Array[],
    truthUv: readonly Float64Array[],
    flagged: (channel: number, from: number, to: number) => boolean,
  ): void;
}

/** One run of one patient, sweep by sweep. */
export interface Session {
  scenario: Scenario;
  /** Number of sweeps in the whole session. */
  sweepCount: number;
  samplesPerSweep: number;
  /** Returns the next sweep, or null after the last. */
  nextSweep(): Sweep | null;
  /** Tells of the continuous recording behind the sweeps, from the next block on. */
  listen(listener: RecordingListener): void;
}

/** Turns the window of a scenario into samples. */
export function averagingContext(scenario: Scenario): AveragingContext {
  const { window, converter, averaging } = scenario;
  const samples = (ms: number) => Math.round((ms * converter.sampleRateHz) / 1000);
  const preSampleCount = samples(window.preMs);
  return {
    samplesPerSweep: preSampleCount + samples(window.postMs),
    sampleRateHz: converter.sampleRateHz,
    preSampleCount,
    analysisFrom: preSampleCount + samples(window.analysisFromMs),
    analysisTo: preSampleCount + samples(window.analysisToMs),
    respectFlags: averaging.respectFlags,
    baseline: averaging.baseline,
  };
}

/** What the lanes of a run want to know beside the sweep itself. */
export interface Wishes {
  usesInterval: boolean;
  usesBehaviour: boolean;
}

/** What is told along with a sweep: the flag of the channel on which the strategies compete, and what is wished for. */
export function sweepMeta(sweep: Sweep, channel: number, { usesInterval, usesBehaviour }: Wishes): SweepMeta {
  const { index, timeS, polarity } = sweep;
  const meta: SweepMeta = { index, timeS, polarity, overRange: sweep.overRange[channel] };
  if (usesInterval) meta.interval = sweep.interval(channel);
  return usesBehaviour ? { ...meta, ...sweep.behaviour() } : meta;
}

/** Names the noise that belongs to the response itself, for the ledger and `session.mute`: the random firing of a muscle response. */
export const RESPONSE_NOISE = 'firing';

function ownNoise(response: EvokedResponse): PlayingNoise | null {
  const { addNoiseUv } = response;
  return addNoiseUv ? { addUv: addNoiseUv } : null;
}

/**
 * Starts a session: the only place that knows the order of the pipeline.
 *
 * schedule → response → noise → chain → sweeps, on one continuous time base. The same scenario and seed give the same
 * bits for any block size.
 *
 * @param seed - any text   @param blockSampleCount - samples made at a time: speed and memory only
 * @param onlySource - id of a noise source: `recordedUv` is then this source alone, carried through the linear part of
 *   the chain, on the same sweeps; the noise ledger is made of such runs
 * @param background - real background from `backgroundNoise`: all the noise there is; it was amplified once already, so
 *   only the linear part of the chain follows
 */
export function startSession(
  scenario: Scenario,
  seed: string,
  blockSampleCount = 1024,
  onlySource: string | null = null,
  background: PlayingNoise | null = null,
): Session {
  if (!(blockSampleCount >= 1 && Number.isInteger(blockSampleCount))) {
    throw new RangeError(`startSession: blockSampleCount must be a whole number >= 1, got ${blockSampleCount}`);
  }
  const context = averagingContext(scenario);
  const { samplesPerSweep, preSampleCount, sampleRateHz } = context;
  const sweepCount = presentationCount(scenario);
  const nextPresentation = stimulusSchedule(scenario, seed);
  const leadIn = Math.round(LEAD_IN_S * sampleRateHz);
  const stages = scenarioStages(scenario);
  const sampleOf = (timeS: number) => leadIn + Math.round(timeS * sampleRateHz);
  const responses = makeStaged(stages, sampleOf, (stage) => evokedResponse(stage, seed));
  const response = stagedSignal(responses);
  const muted: readonly string[] = scenario.session.mute;
  const responseNoise =
    !muted.includes(RESPONSE_NOISE) && (onlySource === null || onlySource === RESPONSE_NOISE)
      ? stagedSignal(responses.map((span) => ({ ...span, thing: ownNoise(span.thing) })))
      : null;
  const simulated = background ? [] : noiseSources;
  const noises = simulated
    .filter(({ id }) => !muted.includes(id) && (onlySource === null || id === onlySource))
    .map(({ beyondContacts, create }) => ({
      beyondContacts,
      spans: makeStaged(stages, sampleOf, (stage) => create(stage, seed)),
    }))
    .filter(({ spans }) => spans.some(({ thing }) => thing !== null))
    .map(({ beyondContacts, spans }) => ({ beyondContacts, playing: stagedSignal(spans) }));
  const mixLeads = stagedMixing(makeStaged(stages, sampleOf, leadMixing));
  const makeChain = () => stagedChain(makeStaged(stages, sampleOf, (stage) => recordingChain(stage, seed)));
  const chain = makeChain();
  const linearChain = makeChain(); // for one source alone, or a background
  const delay = chain.delaySampleCount; // what comes out of the chain belongs to that much earlier
  // A real recording has passed contacts, leads and an amplifier already.
  if (background) noises.push({ beyondContacts: true, playing: background });
  const isLinear = onlySource !== null || background !== null;

  const channels = Array.from({ length: CHANNEL_COUNT }, (_, channel) => channel);
  const recordedBlock = channels.map(() => new Float64Array(blockSampleCount));
  const truthBlock = channels.map(() => new Float64Array(blockSampleCount));
  // The last stretch of the recording, long enough to cut the oldest sweep that is still wanted.
  const intervalSampleCount = Math.ceil(sampleRateHz / scenario.stimulus.ratePerS);
  const historyLength = samplesPerSweep + 2 * blockSampleCount + intervalSampleCount;
  const recorded = channels.map(() => new Float64Array(2 * historyLength));
  const truth = channels.map(() => new Float64Array(2 * historyLength));
  let historyStart = 0; // sample of the recording at history index 0
  let end = 0; // samples made so far

  const waiting: Presentation[] = []; // told to the response, not yet cut
  let upcoming = sweepCount > 0 ? nextPresentation() : null;
  let cutCount = 0;
  let cutFrom = 0; // first sample of the sweep
  let lastEnd = 0; // of the sweep before
  let sensors: BehaviourSensors | null = null;
  let sensed: { index: number; behaviour: Behaviour } | null = null;
  const sweep: Sweep = {
    index: 0,
    timeS: 0,
    sample: 0,
    polarity: 1,
    overRange: channels.map(() => false),
    recordedUv: channels.map(() => new Float64Array(samplesPerSweep)),
    truthUv: channels.map(() => new Float64Array(samplesPerSweep)),
    interval(channel) {
      const kept = historyStart - delay; // first sample that is still there
      const firstSample = Math.min(cutFrom, Math.max(lastEnd, kept, cutFrom - intervalSampleCount));
      const from = firstSample - kept;
      return { samplesUv: recorded[channel].slice(from, cutFrom + samplesPerSweep - kept), firstSample };
    },
    behaviour() {
      sensors ??= behaviourSensors(stages, sampleOf, seed);
      // Sensors are read forwards only: whoever asks twice of one sweep is told the same.
      if (sensed?.index !== sweep.index) {
        sensed = { index: sweep.index, behaviour: sensors(sweep.index, cutFrom, cutFrom + samplesPerSweep) };
      }
      return sensed.behaviour;
    },
  };
  // The response may begin before its stimulus by latency jitter; it is told that much ahead.
  const ahead = Math.ceil(sampleRateHz / 50);
  let listener: RecordingListener | null = null;

  function makeBlock(): void {
    while (upcoming && upcoming.sample < end + blockSampleCount + ahead) {
      for (const { thing } of responses) thing.present(upcoming);
      for (const { playing } of noises) playing.present?.(upcoming);
      listener?.present(upcoming);
      waiting.push(upcoming);
      upcoming = upcoming.index + 1 < sweepCount ? nextPresentation() : null;
    }
    for (const block of truthBlock) block.fill(0);
    response.addUv(truthBlock, end, blockSampleCount);
    for (const c of channels) {
      if (onlySource === null) recordedBlock[c].set(truthBlock[c]);
      else recordedBlock[c].fill(0);
    }
    responseNoise?.addUv(recordedBlock, end, blockSampleCount);
    for (const { beyondContacts, playing } of noises) {
      if (!beyondContacts) playing.addUv(recordedBlock, end, blockSampleCount);
    }
    mixLeads?.(recordedBlock, end, blockSampleCount);
    mixLeads?.(truthBlock, end, blockSampleCount);
    for (const { beyondContacts, playing } of noises) {
      if (beyondContacts) playing.addUv(recordedBlock, end, blockSampleCount);
    }
    if (isLinear) linearChain.truthUv(recordedBlock, blockSampleCount);
    else chain.recordUv(recordedBlock, end, blockSampleCount);
    chain.truthUv(truthBlock, blockSampleCount);
    tellListener();
    store();
    end += blockSampleCount;
  }

  /** Tells of the block in true time: what a waiting chain gives first belongs to the time before the recording. */
  function tellListener(): void {
    const first = Math.max(0, delay - end);
    if (!listener || first >= blockSampleCount) return;
    const heard = (block: readonly Float64Array[]) => block.map((channel) => channel.subarray(first));
    listener.record(end - delay + first, heard(recordedBlock), heard(truthBlock), chain.flagged);
  }

  function store(): void {
    let at = end - historyStart;
    if (at + blockSampleCount > 2 * historyLength) {
      const drop = at - historyLength;
      for (const c of channels) {
        recorded[c].copyWithin(0, drop, at);
        truth[c].copyWithin(0, drop, at);
      }
      historyStart += drop;
      at = historyLength;
      chain.forgetBefore(historyStart - delay);
    }
    for (const c of channels) {
      recorded[c].set(recordedBlock[c], at);
      truth[c].set(truthBlock[c], at);
    }
  }

  return {
    scenario,
    sweepCount,
    samplesPerSweep,
    listen(next) {
      listener = next;
    },
    nextSweep() {
      if (cutCount >= sweepCount) return null;
      const made = () => waiting.length > 0 && waiting[0].sample - preSampleCount + samplesPerSweep + delay <= end;
      while (!made()) makeBlock();
      const presentation = waiting.shift() as Presentation;
      const from = presentation.sample - preSampleCount;
      const at = from + delay - historyStart;
      lastEnd = cutCount === 0 ? 0 : cutFrom + samplesPerSweep;
      cutFrom = from;
      for (const c of channels) {
        sweep.recordedUv[c].set(recorded[c].subarray(at, at + samplesPerSweep));
        sweep.truthUv[c].set(truth[c].subarray(at, at + samplesPerSweep));
        removeBaseline(sweep.recordedUv[c], scenario.averaging.baseline, preSampleCount);
        removeBaseline(sweep.truthUv[c], scenario.averaging.baseline, preSampleCount);
        sweep.overRange[c] = chain.flagged(c, from, from + samplesPerSweep);
      }
      sweep.index = presentation.index;
      sweep.sample = presentation.sample;
      sweep.timeS = (from + samplesPerSweep - leadIn) / sampleRateHz;
      sweep.polarity = presentation.polarity;
      cutCount++;
      return sweep;
    },
  };
}
