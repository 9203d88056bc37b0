import { resolveScenario, scenarioHash, withOverrides } from '../../core/scenario/resolve.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import { laneField } from '../../core/session/laneField.ts';
import { racingLanesOf, STANDARD_LANES } from '../../core/session/lanes.ts';
import { averagingContext, startSession, sweepMeta } from '../../core/session/session.ts';
import { drillRemedy } from './drillRemedies.ts';
import type { Drill } from './drillSchema.ts';
import { drillSource } from './drillSources.ts';

/** What every drill begins with: no hum but what a drill brings, and a supply and an EEG so steady that few patients tell. */
const COMMON = { mains: { fundamentalUv: 0, wanderHz: 0.002 }, eeg: { gainLogSd: 0.1, gainMemoryS: 20 } };
/** A click session that is long enough to judge and short enough for five minutes; others are as usual for their response. */
const COMMON_CLICK = { ...COMMON, session: { durationS: 30 }, converter: { sampleRateHz: 8000 } };

/** Patients on whom a drill is judged. Their seeds are the same for everybody: what mends a drill is no luck. */
export const HIDDEN_PATIENTS = 3;

/** Seed of hidden patient number `patient`; never that of the bench. */
export function drillSeed(drill: Drill, patient: number): string {
  return `${drill.id}/hidden/${patient}`;
}

/** The partial scenario of a drill: the session as it should be, the trouble, then the remedies one by one. */
export function drillDocument(drill: Drill, troubled: boolean, remedies: readonly string[] = []): object {
  const { title, story, lane, lineHz, session, trouble } = drill;
  const common = session['response.kind'] === undefined ? COMMON_CLICK : COMMON;
  const lanes =
    lane === undefined ? {} : { lanes: [lane, ...STANDARD_LANES.filter((id) => id !== lane)].map(ofStrategy) };
  let document = laid({ title, story, ...lanes, ...common }, { 'mains.lineHz': lineHz, ...session });
  if (troubled) document = laid(document, trouble);
  for (const id of remedies) document = laid(document, drillRemedy(id).apply(resolveScenario(document)));
  return document;
}

/** The troubled session with one source put right: its keys are what they should be. */
export function withSourceRight(drill: Drill, sourceId: string): object {
  const troubled = drillDocument(drill, true);
  const { paths, off } = drillSource(sourceId);
  const [now, right] = [troubled, drillDocument(drill, false)].map(resolveScenario);
  const [key] = paths;
  if (off === 'above' && !((valueAt(now, key) as number) > (valueAt(right, key) as number))) return troubled;
  if (off === 'below' && !((valueAt(now, key) as number) < (valueAt(right, key) as number))) return troubled;
  return laid(troubled, Object.fromEntries(paths.map((path) => [path, valueAt(right, path)])));
}

/** What one session gave, in its analysis window, µV. */
interface SessionOutcome {
  averageUv: Float64Array;
  truthUv: Float64Array;
}

/**
 * Runs one session to its end.
 *
 * @returns the average of its first lane, and the mean noise-free response of all sweeps
 */
function sessionOutcome(scenario: Scenario, seed: string): SessionOutcome {
  const context = averagingContext(scenario);
  const { samplesPerSweep, analysisFrom, analysisTo } = context;
  const channel = scenario.averaging.channel === 'ipsilateral' ? 0 : 1;
  const field = laneField(racingLanesOf(scenario).slice(0, 1), context);
  const session = startSession(scenario, seed);
  const truthUv = new Float64Array(samplesPerSweep);
  for (let sweep = session.nextSweep(); sweep; sweep = session.nextSweep()) {
    field.add(sweep.recordedUv[channel], sweepMeta(sweep, channel, field));
    for (let i = 0; i < samplesPerSweep; i++) truthUv[i] += sweep.truthUv[channel][i] / session.sweepCount;
  }
  const averageUv = new Float64Array(samplesPerSweep);
  field.finish()[0].averager.read(averageUv);
  // A strategy that took no sweep has nothing to show.
  const inWindow = (values: Float64Array) =>
    values.slice(analysisFrom, analysisTo).map((value) => (Number.isFinite(value) ? value : 0));
  return { averageUv: inWindow(averageUv), truthUv: inWindow(truthUv) };
}

/** Measures sessions of one drill against the truth of the session as it should be. Remembers every session it has run. */
export interface DrillMeter {
  /** Error of the first lane's average for one hidden patient, nV rms over the analysis window. */
  errorNv(document: object, patient: number): number;
  /** Root mean square of that over all hidden patients. */
  expectedNv(document: object): number;
}

/**
 * Makes the meter of a drill.
 *
 *     error = rms over the window of [average of the session − noise-free response of the session as it should be]
 *
 * So everything counts that keeps the average from the right answer: noise, a response that is not there, upside down
 * or from the wrong lead, filters that bend it. Both sessions have the same seed.
 */
export function drillMeter(drill: Drill): DrillMeter {
  const right = resolveScenario(drillDocument(drill, false));
  const outcomes = new Map<string, SessionOutcome>();
  const outcome = (scenario: Scenario, patient: number): SessionOutcome => {
    const key = `${patient} ${scenarioHash(scenario)}`;
    const known = outcomes.get(key);
    if (known) return known;
    const made = sessionOutcome(scenario, drillSeed(drill, patient));
    outcomes.set(key, made);
    return made;
  };
  const errorNv = (document: object, patient: number): number =>
    1000 * rmsDifference(outcome(resolveScenario(document), patient).averageUv, outcome(right, patient).truthUv);
  const expectedNv = (document: object): number => {
    let sum = 0;
    for (let patient = 0; patient < HIDDEN_PATIENTS; patient++) sum += errorNv(document, patient) ** 2;
    return Math.sqrt(sum / HIDDEN_PATIENTS);
  };
  return { errorNv, expectedNv };
}

function laid(document: object, keys: Record<string, unknown>): object {
  return withOverrides(
    document,
    Object.entries(keys).map(([path, value]) => `${path}=${JSON.stringify(value)}`),
  );
}

function ofStrategy(strategy: string): object {
  return { strategy };
}

function valueAt(scenario: Scenario, path: string): unknown {
  let value: unknown = scenario;
  for (const key of path.split('.')) value = (value as Record<string, unknown>)[key];
  return value;
}

function rmsDifference(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += (a[i] - b[i]) * (a[i] - b[i]);
  return Math.sqrt(sum / a.length);
}
