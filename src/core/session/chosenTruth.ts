import { muscleLevel } from '../averaging/muscleLevel.ts';
import { noiseIds } from '../scenario/noiseIds.ts';
import type { Scenario } from '../scenario/schema.ts';
import { runningTruth } from './runningTruth.ts';
import { averagingContext, startSession } from './session.ts';

/** The truth against which averages are judged, sweep by sweep. */
export interface ChosenTruth {
  /** Takes in the next sweep: its noise-free response and what was recorded, µV. */
  add(truthUv: Float64Array, recordedUv: Float64Array): void;
  /** Writes the truth so far, µV; NaN before the first sweep. */
  read(outUv: Float64Array): void;
}

/** In plain words, for screens. */
export const TRUTH_LABELS: Record<Scenario['measures']['truth'], string> = {
  'session-mean': 'the mean response of all sweeps presented',
  current: 'the response to the latest sweep',
  normalised: 'the mean response for equal contraction',
  'full-effort': 'the response at full gaze and a steady, fresh contraction',
};

/**
 * Makes the truth that a scenario asks for.
 *
 *     session-mean   (1/N) Σ s[k]                            what unlimited plain averaging would give
 *     current        s[N]                                    for a response that moves
 *     normalised     (1/N) Σ s[k]/e[k] · (1/N) Σ e[k]        e: mean rectified before the stimulus, mean of 5 sweeps
 *     full-effort    (1/N) Σ s'[k],  s' with gaze and contraction held       same scatter, same seed
 *
 * All go through the same chain, without clipping. Events of the session that change gaze or contraction by name still
 * count in 'full-effort'; a sweep without activity does not count in 'normalised'.
 *
 * @param channel - 0 ipsilateral, 1 contralateral
 * @throws {RangeError} if 'normalised' has no samples before the stimulus
 */
export function chosenTruth(scenario: Scenario, seed: string, channel: number): ChosenTruth {
  const { samplesPerSweep, preSampleCount } = averagingContext(scenario);
  switch (scenario.measures.truth) {
    case 'session-mean':
      return runningTruth(samplesPerSweep);
    case 'current':
      return currentTruth(samplesPerSweep);
    case 'normalised':
      return normalisedTruth(samplesPerSweep, preSampleCount);
    case 'full-effort':
      return fullEffortTruth(scenario, seed, channel);
    default:
      throw new RangeError(`chosenTruth: no truth called ${scenario.measures.truth satisfies never}`);
  }
}

function currentTruth(samplesPerSweep: number): ChosenTruth {
  const latestUv = new Float64Array(samplesPerSweep).fill(NaN);
  return { add: (truthUv) => latestUv.set(truthUv), read: (outUv) => outUv.set(latestUv) };
}

const EFFORT_SWEEPS = 5; // as many as the EMG-normalised average smooths over

function normalisedTruth(samplesPerSweep: number, preSampleCount: number): ChosenTruth {
  if (!(preSampleCount >= 1)) {
    throw new RangeError(
      `chosenTruth: measures.truth normalised needs samples before the stimulus, got window.preMs of ${preSampleCount}`,
    );
  }
  const sum = new Float64Array(samplesPerSweep);
  const meter = muscleLevel(preSampleCount, EFFORT_SWEEPS);
  let effortSumUv = 0;
  let count = 0;
  return {
    add(truthUv, recordedUv) {
      const effortUv = meter.next(recordedUv);
      if (!(effortUv > 0)) return;
      for (let i = 0; i < samplesPerSweep; i++) sum[i] += truthUv[i] / effortUv;
      effortSumUv += effortUv;
      count++;
    },
    read(outUv) {
      for (let i = 0; i < samplesPerSweep; i++) outUv[i] = (sum[i] / count) * (effortSumUv / count);
    },
  };
}

/** Plays the same stimuli to the same person at full effort, beside the session. */
function fullEffortTruth(scenario: Scenario, seed: string, channel: number): ChosenTruth {
  const { gaze, contraction } = scenario;
  const session = startSession(
    {
      ...scenario,
      session: { ...scenario.session, mute: [...noiseIds] },
      gaze: { ...gaze, targetDeg: 35, sagDeg: 35 }, // where the share of the response is whole
      contraction: { ...contraction, logSd: 0, fatiguePerMin: 0 },
    },
    seed,
  );
  const mean = runningTruth(averagingContext(scenario).samplesPerSweep);
  return {
    add() {
      const sweep = session.nextSweep();
      if (sweep) mean.add(sweep.truthUv[channel]);
    },
    read: mean.read,
  };
}
