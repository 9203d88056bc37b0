import { type Look, type StoppedAt, stopAt } from '../core/quality/stoppingRules.ts';
import { estimatedHearingDb } from '../core/reading/threshold.ts';
import { cochlearThresholdDb } from '../core/response/heardEars.ts';
import type { Scenario } from '../core/scenario/schema.ts';
import {
  type FigureSource,
  type FigureValue,
  laneMeasureOf,
  laneName,
  measureOf,
  numberFrom,
  phrase,
} from './figureParts.ts';
import type { Stopping } from './figureSchema.ts';
import { laneIdOf, runOf, scenarioOf } from './lessonRun.ts';
import type { Figure } from './schema.ts';

type OfKind<Kind> = Extract<Figure, { figure: Kind }>;

/** A figure of sessions that are broken off by a rule. */
export type StoppingFigure = OfKind<'called' | 'seconds-to-call' | 'threshold-within' | 'search-seconds'>;

/** Computes what a stopping rule makes of the hidden patients: verdicts, thresholds, and the time that they cost. */
export function stoppingFigure(figure: StoppingFigure, source: FigureSource): FigureValue {
  switch (figure.figure) {
    case 'called': {
      const { run, lane, stop, verdict } = figure;
      const calls = callsOf(run, lane, stop, source);
      const share = (100 * calls.filter((call) => call.verdict === verdict).length) / calls.length;
      return phrase(share, '%', `share of patients called ${inWords(verdict)} in ${place(run, lane, source)}`);
    }
    case 'seconds-to-call': {
      const { run, lane, stop } = figure;
      const seconds = callsOf(run, lane, stop, source).map((call) => call.seconds);
      return phrase(mean(seconds), 's', `mean time until the session is broken off in ${place(run, lane, source)}`);
    }
    case 'threshold-within': {
      const { withinDb } = figure;
      const searches = searchesOf(figure, source);
      const near = searches.filter(({ foundDb, truthDb }) => Math.abs(foundDb - truthDb) <= withinDb).length;
      const what = `share of patients whose threshold is found within ${withinDb} dB of ${searches[0].truthDb} dB`;
      return phrase((100 * near) / searches.length, '%', what);
    }
    case 'search-seconds':
      return phrase(mean(searchesOf(figure, source).map(({ seconds }) => seconds)), 's', 'mean time of a search');
    default:
      return figure satisfies never;
  }
}

/** One call for each hidden patient: verdict and seconds. */
function callsOf(runId: string, laneId: string, stop: Stopping, source: FigureSource) {
  const run = measureOf(source, runId);
  const lane = laneMeasureOf(run, laneIdOf(laneId, source.settings));
  const every = numberFrom(stop.everySweeps, source);
  const limit = numberFrom(stop.limit, source);
  const floorNv = numberFrom(stop.floorNv, source);
  const last = run.sweeps.length - 1;
  // Looks fall on the checkpoints of the curve: on the first at or after each multiple, and on the end.
  const looked = run.sweeps.flatMap((sweeps, j) => {
    const isNew = j === last || Math.floor(sweeps / every) > (j === 0 ? 0 : Math.floor(run.sweeps[j - 1] / every));
    return isNew ? [j] : [];
  });
  return lane.fmpCurve.map((fmp, patient): StoppedAt & { seconds: number } => {
    const looks = looked.map(
      (j): Look => ({
        sweepCount: run.sweeps[j],
        seconds: run.seconds[j],
        sessionS: run.seconds[last],
        noiseNv: lane.ownCurveNv[patient][j],
        snr: NaN, // the rule judges by Fmp
        statistic: fmp[j],
        limit,
      }),
    );
    const stopped = stopAt(looks, [
      { rule: 'detection', parameters: {} },
      { rule: 'snr-or-floor', parameters: { snr: Infinity, floorNv } },
    ]);
    return { ...stopped, seconds: looks[stopped.look].seconds };
  });
}

/**
 * Searches each hidden patient's threshold from the loudest level down: one step softer after every response, to the first
 * level without one.
 *
 * The threshold found is the lowest level with a response, less what is usually taken off for a tone burst to estimate
 * hearing; NaN where the loudest level has none. The true one is the level at which the model's ear begins to hear.
 */
function searchesOf({ levels, lane, stop }: OfKind<'threshold-within' | 'search-seconds'>, source: FigureSource) {
  const steps = levels.map((id) => {
    const scenario = scenarioOf(source.lesson, runOf(source.lesson, id), source.settings, source.attemptSeed);
    return { scenario, calls: callsOf(id, lane, stop, source) };
  });
  const [{ scenario }] = steps;
  const conductiveDb = scenario.stimulus.transducer === 'bone' ? 0 : scenario.hearing.conductiveDb;
  const truthDb = cochlearThresholdDb(scenario) + conductiveDb;
  return steps[0].calls.map((_, patient) => {
    let foundDb = NaN;
    let seconds = 0;
    for (const step of steps) {
      const call = step.calls[patient];
      seconds += call.seconds;
      if (call.verdict !== 'present') break;
      foundDb = hearingDb(step.scenario.stimulus);
    }
    return { foundDb, truthDb, seconds };
  });
}

/** What a response at this level says of hearing, dB. */
function hearingDb({ kind, levelDbNhl, frequencyHz }: Scenario['stimulus']): number {
  return kind === 'tone-burst' ? estimatedHearingDb(levelDbNhl, frequencyHz) : levelDbNhl;
}

function place(runId: string, laneId: string, source: FigureSource): string {
  const run = measureOf(source, runId);
  return `“${run.title}” by ${laneName(laneMeasureOf(run, laneIdOf(laneId, source.settings)))}`;
}

function inWords(verdict: string): string {
  return verdict === 'cannot-tell' ? '“cannot tell”' : `“${verdict}”`;
}

function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
