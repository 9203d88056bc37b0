import { electrodeNames } from '../../core/chain/contact.ts';
import { noiseSources } from '../../core/noise/index.ts';
import { residualNoiseUv } from '../../core/quality/residualNoise.ts';
import { timeToTarget } from '../../core/quality/timeToTarget.ts';
import { resolveScenario, scenarioStages } from '../../core/scenario/resolve.ts';
import type { Scenario } from '../../core/scenario/schema.ts';
import { averagingContext } from '../../core/session/session.ts';
import type { FullRun } from '../worker/fullRun.ts';
import { eventLabel } from './handsOn.ts';

/** Something that could have been otherwise, on the identical patient. */
export interface Counterfactual {
  id: string;
  label: string;
  /** The scenario as it would have been. */
  apply(scenario: Scenario): Scenario;
}

type NoiseId = Scenario['session']['mute'][number];

const CONTACT_SOURCES: readonly NoiseId[] = ['drift', 'contact-jump', 'skin', 'lead-movement', 'thermal', 'current'];

/** The noise sources of which a scenario has any, now or after one of its events. */
export function activeSources(scenario: Scenario, seed: string): { id: NoiseId; label: string }[] {
  const stages = scenarioStages(scenario);
  return noiseSources
    .filter(({ create }) => stages.some((stage) => create(stage.scenario, seed) !== null))
    .map(({ id, label }) => ({ id: id as NoiseId, label }));
}

/** What can be undone in retrospect: every source that is there, one by one, all that was done, and the electrodes. */
export function counterfactuals(scenario: Scenario, seed: string): Counterfactual[] {
  const sources = activeSources(scenario, seed).filter(({ id }) => !scenario.session.mute.includes(id));
  const list: Counterfactual[] = sources.map(({ id, label }) => ({
    id: `mute-${id}`,
    label: `without ${uncapitalised(label)}`,
    apply: (given) => muted(given, [id]),
  }));
  const mute: readonly string[] = scenario.session.mute;
  if (scenario.response.kind === 'cvemp' && !mute.includes('firing')) {
    const apply = (given: Scenario) => muted(given, ['firing']);
    list.push({ id: 'mute-firing', label: 'without the firing of the muscle', apply });
  }
  list.push({ id: 'perfect-electrodes', label: 'perfect electrodes', apply: perfectElectrodes });
  if (scenario.events.length > 0) {
    list.push({ id: 'no-events', label: 'nothing done', apply: (given) => resolveScenario({ ...given, events: [] }) });
  }
  return list;
}

/** A label within a sentence; abbreviations stay as they are. */
function uncapitalised(label: string): string {
  return /^[A-Z][a-z]/.test(label) ? label.charAt(0).toLowerCase() + label.slice(1) : label;
}

function muted(scenario: Scenario, ids: readonly NoiseId[]): Scenario {
  const mute = [...new Set([...scenario.session.mute, ...ids])];
  return resolveScenario({ ...scenario, session: { ...scenario.session, mute } });
}

/** Contacts as good as new on all leads, and none of the noise that contacts make. */
function perfectElectrodes(scenario: Scenario): Scenario {
  const electrodes = structuredClone(scenario.electrodes);
  for (const name of electrodeNames) Object.assign(electrodes[name], { contactFactor: 1, open: false, lossesPerS: 0 });
  return muted({ ...scenario, electrodes }, CONTACT_SOURCES);
}

/** What differs between two scenarios, in words: 'stimulus.ratePerS 27.7 → 31', 'done at 35.2 s: Ask for a clench'. */
export function scenarioChanges(before: Scenario, after: Scenario): string[] {
  const done = (scenario: Scenario) => scenario.events.map((event) => `at ${event.atS} s: ${eventLabel(event)}`);
  const [old, now] = [done(before), done(after)];
  return [
    ...changes({ ...before, events: null }, { ...after, events: null }, ''),
    ...now.filter((text) => !old.includes(text)).map((text) => `done ${text}`),
    ...old.filter((text) => !now.includes(text)).map((text) => `not done ${text}`),
  ];
}

function changes(before: unknown, after: unknown, path: string): string[] {
  if (typeof after !== 'object' || after === null || Array.isArray(after)) {
    if (JSON.stringify(before) === JSON.stringify(after)) return [];
    return ['id', 'title', 'story'].includes(path) ? [] : [`${path} ${shown(before)} → ${shown(after)}`];
  }
  return Object.entries(after).flatMap(([key, value]) =>
    changes((before as Record<string, unknown> | null)?.[key], value, path === '' ? key : `${path}.${key}`),
  );
}

function shown(value: unknown): string {
  if (Array.isArray(value)) return value.length === 0 ? 'nothing' : value.join(', ');
  return String(value);
}

/** One lane before and after, at the end of both runs. */
export interface PairedLane {
  strategy: string;
  before: LaneFigures;
  after: LaneFigures;
  /** After − before, µV; null where the two have different windows or rates. */
  differenceUv: Float64Array | null;
  /** Size of the difference within the analysis window, µV rms. */
  differenceRmsUv: number;
}

/** What a lane has come to. */
interface LaneFigures {
  noiseUv: number;
  claimUv: number;
  gain: number;
  /** s; null for never. */
  arrivalS: number | null;
}

/**
 * Pairs the lanes of two runs of one patient: same seed, same draws, so that what differs is what was changed.
 *
 * Lanes are paired by place; a lane that only one of the runs has is left out.
 */
export function pairedLanes(before: FullRun, after: FullRun, scenario: Scenario): PairedLane[] {
  const { analysisFrom, analysisTo } = averagingContext(scenario);
  const { targetNv } = scenario.session;
  const figures = (run: FullRun, lane: number): LaneFigures => {
    const { residualNoiseUv: noiseUv, ownNoiseUv, amplitudeGain } = run.lanes[lane].reading;
    const noiseNv = run.checkpoints.map(({ lanes }) => 1000 * lanes[lane].residualNoiseUv);
    const arrived = timeToTarget(noiseNv, targetNv);
    return {
      noiseUv,
      claimUv: ownNoiseUv,
      gain: amplitudeGain,
      arrivalS: arrived < 0 ? null : run.checkpoints[arrived].seconds,
    };
  };
  return after.lanes.slice(0, before.lanes.length).map(({ strategy, averageUv }, lane) => {
    const earlier = before.lanes[lane].averageUv;
    const comparable = earlier.length === averageUv.length;
    return {
      strategy,
      before: figures(before, lane),
      after: figures(after, lane),
      differenceUv: comparable ? Float64Array.from(averageUv, (value, i) => value - earlier[i]) : null,
      differenceRmsUv: comparable
        ? residualNoiseUv(Float64Array.from(averageUv), Float64Array.from(earlier), analysisFrom, analysisTo)
        : NaN,
    };
  });
}
