import { noiseIds } from '../scenario/noiseIds.ts';
import { resolveScenario, withOverrides } from '../scenario/resolve.ts';
import type { Scenario } from '../scenario/schema.ts';
import { beatS, LEAD_IN_S, presentationCount } from '../stimulus/schedule.ts';
import { backgroundNoise, type RecordedBackground } from './background.ts';
import { chosenTruth } from './chosenTruth.ts';
import { laneField } from './laneField.ts';
import { type LaneReading, type LaneSetting, laneReader } from './lanes.ts';
import { automaticThresholdUv } from './recordingRun.ts';
import { runningTruth } from './runningTruth.ts';
import { averagingContext, startSession, sweepMeta } from './session.ts';

/** What to implant into a recording. */
export interface ImplantOrder {
  kind: Scenario['response']['kind'];
  /** Largest deflection of the truth within the analysis window, µV; null for the size of the scenario. */
  sizeUv: number | null;
  /** Parts of a scenario that the person sets; the usual session of the kind is under it. */
  document: object;
}

const SMALLEST_SWEEPS = 8;
const USED_SHARE = 0.95; // our choice: leaves room, so that another seed begins at another place

/**
 * Makes the scenario of an implant: the usual session for the response, as long as the recording allows, to its size.
 *
 * @throws {RangeError} if the recording cannot hold what the session's filter lets pass, is too short for eight sweeps,
 *   or the response cannot be made so large
 */
export function implantScenario(recordings: readonly RecordedBackground[], order: ImplantOrder): Scenario {
  if (recordings.length === 0) throw new RangeError('implantScenario: at least one recording is needed, got none');
  const assignments = [`response.kind=${JSON.stringify(order.kind)}`];
  const document = withOverrides(order.document, assignments);
  const scenario = resolveScenario(document);
  const { lowPassHz } = scenario.filter;
  for (const { sampleRateHz } of recordings) {
    if (!(lowPassHz < sampleRateHz / 2)) {
      const rule = `filter.lowPassHz must be below half the recording's sampling rate (${sampleRateHz / 2} Hz)`;
      throw new RangeError(`implantScenario: ${rule} for ${order.kind}, got ${lowPassHz}; choose a slower response`);
    }
  }
  const fitted = { ...scenario, session: { ...scenario.session, durationS: fittingS(scenario, recordings) } };
  return order.sizeUv === null ? fitted : resized(fitted, order.sizeUv);
}

/** Seconds of stimulation that fit in the longest recording, at most those of the scenario. */
function fittingS(scenario: Scenario, recordings: readonly RecordedBackground[]): number {
  const longestS = Math.max(...recordings.map(({ samplesUv, sampleRateHz }) => samplesUv.length / sampleRateHz));
  // Beyond the last beat come the sweep itself and what filters look ahead: `backgroundNoise` asks for as much.
  const beyondS = LEAD_IN_S + (scenario.window.postMs + scenario.stimulus.jitterMs + 1000) / 1000;
  const roomS = USED_SHARE * (longestS - beyondS);
  let count = presentationCount(scenario);
  while (count > 0 && beatS(scenario, count - 1) > roomS) count--;
  if (count < SMALLEST_SWEEPS) {
    const rule = `the recording must hold ${SMALLEST_SWEEPS} sweeps of ${scenario.response.kind}`;
    throw new RangeError(`implantScenario: ${rule} at ${scenario.stimulus.ratePerS}/s, got ${longestS.toFixed(1)} s`);
  }
  return count === presentationCount(scenario) ? scenario.session.durationS : count / scenario.stimulus.ratePerS;
}

const SIZE_SWEEPS = 40;

/** Scales the response so that its mean has this largest deflection behind the chain. */
function resized(scenario: Scenario, sizeUv: number): Scenario {
  if (!(sizeUv > 0 && sizeUv < Infinity)) throw new RangeError(`implantScenario: size must be > 0 µV, got ${sizeUv}`);
  const foundUv = meanPeakUv(scenario);
  if (!(foundUv > 0)) throw new RangeError(`implantScenario: ${scenario.response.kind} gives no response to resize`);
  const amplitudeScale = (scenario.response.amplitudeScale * sizeUv) / foundUv;
  return resolveScenario({ ...scenario, response: { ...scenario.response, amplitudeScale } });
}

function meanPeakUv(scenario: Scenario): number {
  const { samplesPerSweep, analysisFrom, analysisTo } = averagingContext(scenario);
  const channel = scenario.averaging.channel === 'ipsilateral' ? 0 : 1;
  const quiet = { ...scenario, session: { ...scenario.session, mute: [...noiseIds] } };
  const session = startSession(quiet, 'implant/size');
  const mean = runningTruth(samplesPerSweep);
  for (let k = 0; k < SIZE_SWEEPS; k++) {
    const sweep = session.nextSweep();
    if (!sweep) break;
    mean.add(sweep.truthUv[channel]);
  }
  const meanUv = new Float64Array(samplesPerSweep);
  mean.read(meanUv);
  return peakUv(meanUv, analysisFrom, analysisTo);
}

function peakUv(samplesUv: Float64Array, from: number, to: number): number {
  let peak = 0;
  for (let i = from; i < to; i++) peak = Math.max(peak, Math.abs(samplesUv[i]));
  return peak;
}

/** A lane at the end of an implanted run: truth is known here. */
interface ImplantedLane extends LaneSetting, LaneReading {
  averageUv: Float64Array;
  /** The two split buffers, µV. */
  bufferAUv: Float64Array;
  bufferBUv: Float64Array;
}

export interface ImplantResult {
  scenario: Scenario;
  lanes: ImplantedLane[];
  truthUv: Float64Array;
  /** Largest deflection of the truth within the analysis window, µV. */
  truthPeakUv: number;
  sampleRateHz: number;
  /** Time of the first sample of a sweep, ms after the stimulus. */
  firstSampleMs: number;
  sweepsOffered: number;
}

/**
 * Runs lanes on a known response in real background.
 *
 * A generator that yields the fraction done. The limit of the rejection lane is 2.5 times the median peak, as on any
 * recording whose amplifier is unknown.
 *
 * @param scenario - from `implantScenario`   @param seed - of the response, and of the place in the recording
 */
export function* implantRun(
  recordings: readonly RecordedBackground[],
  scenario: Scenario,
  seed: string,
  settings: readonly LaneSetting[],
): Generator<number, ImplantResult> {
  const context = averagingContext(scenario);
  const { samplesPerSweep, preSampleCount, sampleRateHz, analysisFrom, analysisTo } = context;
  const channel = scenario.averaging.channel === 'ipsilateral' ? 0 : 1;
  const background = backgroundNoise(recordings, scenario, seed);
  const open = () => startSession(scenario, seed, 1024, null, background);
  const sweepCount = presentationCount(scenario);
  const every = Math.ceil(sweepCount / 50);

  const peaks: number[] = [];
  const first = open();
  for (let sweep = first.nextSweep(); sweep; sweep = first.nextSweep()) {
    peaks.push(peakUv(sweep.recordedUv[channel], 0, samplesPerSweep));
    if (peaks.length % every === 0) yield peaks.length / sweepCount / 2;
  }
  const thresholdUv = automaticThresholdUv(peaks);
  const lanes = settings.map((lane) =>
    lane.strategy === 'threshold-rejection' ? { ...lane, parameters: { ...lane.parameters, thresholdUv } } : lane,
  );

  const field = laneField(lanes, context);
  const truth = chosenTruth(scenario, seed, channel);
  const session = open();
  let done = 0;
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
    field.add(sweep.recordedUv[channel], sweepMeta(sweep, channel, field));
    truth.add(sweep.truthUv[channel], sweep.recordedUv[channel]);
    done++;
    if (done % every === 0) yield 0.5 + done / sweepCount / 2;
  }
  const truthUv = new Float64Array(samplesPerSweep);
  truth.read(truthUv);
  const read = laneReader(context);
  return {
    scenario,
    lanes: field.finish().map((lane, k) => {
      const averageUv = new Float64Array(samplesPerSweep);
      lane.averager.read(averageUv);
      const bufferAUv = new Float64Array(samplesPerSweep);
      const bufferBUv = new Float64Array(samplesPerSweep);
      lane.averager.readPair(bufferAUv, bufferBUv);
      return { ...lanes[k], ...read(lane, truthUv), averageUv, bufferAUv, bufferBUv };
    }),
    truthUv,
    truthPeakUv: peakUv(truthUv, analysisFrom, analysisTo),
    sampleRateHz,
    firstSampleMs: (-1000 * preSampleCount) / sampleRateHz,
    sweepsOffered: done,
  };
}
