import type { ResponseReading } from '../core/reading/readResponse.ts';
import { scenarioHash } from '../core/scenario/resolve.ts';
import { checkpointSweeps, race } from '../core/session/race.ts';
import { lanesToMeasure } from './lanesToMeasure.ts';
import { hiddenSeed, type NamedLane, namedLanesOf, type Settings, scenarioOf } from './lessonRun.ts';
import type { Lesson, Run } from './schema.ts';

/** What one lane did on the hidden patients of a run. Lists are by patient. */
export interface LaneMeasure extends NamedLane {
  /** Residual noise at each checkpoint, nV. */
  curveNv: Float64Array[];
  /** Own noise claim and Fmp at each checkpoint: what a look at the session then shows. */
  ownCurveNv: Float64Array[];
  fmpCurve: Float64Array[];
  /** Residual noise at the end, nV; Infinity if the lane never used a sweep. */
  noiseNv: number[];
  ownNoiseNv: number[];
  gain: number[];
  splitCorrelation: number[];
  fmp: number[];
  /** Share of the offered sweeps that were used, 0 … 1. */
  usedShare: number[];
  /** Effective sweeps as a share of those offered, 0 … 1. */
  effectiveShare: number[];
  /** What was read off the average at the end; empty where no figure of the lesson asks for it. */
  readings: PatientReading[];
}

/** Peaks and figures read off one patient's average, beside those of the truth; NaN where the truth has none. */
export interface PatientReading {
  peaks: { name: string; latencyMs: number; truthMs: number; clear: boolean }[];
  figures: {
    name: string;
    unit: string;
    value: number;
    low: number;
    high: number;
    truth: number;
    meaningful: boolean;
  }[];
}

/** All lanes of one run on its hidden patients. */
export interface RunMeasure {
  runId: string;
  title: string;
  patientCount: number;
  /** The checkpoints, as sweeps offered and as stimulation time. */
  sweeps: number[];
  seconds: number[];
  lanes: LaneMeasure[];
}

/** Results of runs that were already made, so that marks which share one do not make it again. */
export type RunCache = Map<string, RunMeasure>;

export interface HiddenProgress {
  /** 0 … 1 of this run. */
  fraction: number;
}

/**
 * Runs one run of a lesson on its hidden replicate patients, each with the same sweeps for all lanes.
 *
 * A generator, so that a page can show progress and stop it.
 *
 * @param only - names of the lanes to run; all of the run's if it is left out. Lanes do not touch one another
 * @param readings - whether peaks and figures are read off the averages, too
 */
export function* measureRun(
  lesson: Lesson,
  run: Run,
  settings: Settings,
  attemptSeed: string,
  only?: ReadonlySet<string>,
  readings = false,
): Generator<HiddenProgress, RunMeasure> {
  const scenario = scenarioOf(lesson, run, settings, attemptSeed);
  const lanes = namedLanesOf(run, scenario).filter(({ id }) => only?.has(id) ?? true);
  const patientCount = patientCountOf(lesson, run);
  const measure: RunMeasure = {
    runId: run.id,
    title: run.title,
    patientCount,
    sweeps: [],
    seconds: [],
    lanes: lanes.map((lane) => ({
      ...lane,
      curveNv: [],
      ownCurveNv: [],
      fmpCurve: [],
      noiseNv: [],
      ownNoiseNv: [],
      gain: [],
      splitCorrelation: [],
      fmp: [],
      usedShare: [],
      effectiveShare: [],
      readings: [],
    })),
  };
  for (let replicate = 0; replicate < patientCount; replicate++) {
    const seed = hiddenSeed(lesson, attemptSeed, replicate);
    // One patient at a time: percentiles over patients need each of them.
    const running = race(scenario, { seed, replicates: 1, targetNv: scenario.session.targetNv, lanes, readings });
    let step = running.next();
    while (!step.done) {
      yield { fraction: (replicate + step.value.fraction) / patientCount };
      step = running.next();
    }
    const [read] = step.value.readings;
    for (const [k, result] of step.value.lanes.entries()) {
      const lane = measure.lanes[k];
      if (read) lane.readings.push(beside(read.lanes[k], read.truth));
      measure.sweeps = checkpointSweeps(result.sweepsOffered);
      measure.seconds = result.curve.map(({ seconds }) => seconds);
      lane.curveNv.push(Float64Array.from(result.curve, ({ noiseNv }) => noiseNv));
      lane.ownCurveNv.push(Float64Array.from(result.curve, ({ ownNoiseNv }) => ownNoiseNv));
      lane.fmpCurve.push(Float64Array.from(result.curve, ({ fmp }) => fmp));
      lane.noiseNv.push(result.sweepsUsed > 0 ? result.residualNoiseNv : Infinity);
      lane.ownNoiseNv.push(result.ownNoiseNv);
      lane.gain.push(result.amplitudeGain.value);
      lane.splitCorrelation.push(result.splitCorrelation);
      lane.fmp.push(result.fmp);
      lane.usedShare.push(result.sweepsUsed / result.sweepsOffered);
      lane.effectiveShare.push(result.effectiveSweeps / result.sweepsOffered);
    }
  }
  return measure;
}

/** Number of hidden patients of a run. */
export function patientCountOf(lesson: Lesson, run: Run): number {
  return run.replicates ?? lesson.hidden.replicates;
}

/** Name of a measure in the cache: the scenario that runs, its lanes, the number of patients, and their seed. */
export function cacheKey(lesson: Lesson, run: Run, settings: Settings, attemptSeed: string): string {
  const scenario = scenarioHash(scenarioOf(lesson, run, settings, attemptSeed));
  const lanes = [...(lanesToMeasure(lesson).get(run.id) ?? [])].sort();
  const patients = patientCountOf(lesson, run);
  return JSON.stringify([run.id, scenario, lanes, run.vary, patients, hiddenSeed(lesson, attemptSeed, 0)]);
}

function beside(read: ResponseReading, truth: ResponseReading): PatientReading {
  return {
    peaks: read.peaks.map(({ name, latencyMs, clear }) => ({
      name,
      latencyMs,
      clear,
      truthMs: truth.peaks.find((peak) => peak.name === name)?.latencyMs ?? NaN,
    })),
    figures: read.figures.map(({ name, unit, value, low, high, meaningful }) => ({
      name,
      unit,
      value,
      low,
      high,
      truth: truth.figures.find((figure) => figure.name === name)?.value ?? NaN,
      meaningful,
    })),
  };
}
