import { exp } from '../elementary.ts';
import { ornsteinUhlenbeck } from '../random/ornsteinUhlenbeck.ts';
import { stream } from '../random/stream.ts';
import type { Scenario } from '../scenario/schema.ts';
import { pausesOf } from '../stimulus/pauses.ts';
import { LEAD_IN_S } from '../stimulus/schedule.ts';

/** How hard the neck muscle is held, relative to the fresh target. */
export interface Contraction {
  /** Writes the level at samples [start, start + count) to `out[0 …)`; blocks follow each other without gap. */
  fill(out: Float64Array, start: number, count: number): void;
}

const STEP_S = 0.01; // s: the level runs straight between points this far apart, our choice
const RELAXED = 0.05; // ×, model value: what is left while the head is down
const READY_S = 1; // s, model value: the head is up again so long before the next train, or the end of a pause

/**
 * Makes the contraction of one side: wander around the target, fatigue while it is held, rest between trains and in
 * pauses.
 *
 *     a(t) = e^(x − σ²/2) · e^(−F) · (1 held, 0.05 in a rest),   x: Ornstein–Uhlenbeck, deviation σ
 *     dF/dt = fatigue/60 while held,   dF/dt = −F/recovery in a rest
 *
 * The mean of the wander is 1. A head that is laid down by an action rests as well, until it is lifted; how much is left of
 * the activity meanwhile, the action says. Without trains the muscle is held all the time. Fatigue lowers the activity, not the
 * number of units: our choice. Draws from the stream 'muscle/contraction' of the side.
 *
 * @param side - 0 the stimulated side, 1 the other
 */
export function contractionLevel(scenario: Scenario, seed: string, side: 0 | 1): Contraction {
  const { logSd, memoryS } = scenario.contraction;
  const { sampleRateHz } = scenario.converter;
  const stepSamples = Math.max(1, Math.round(STEP_S * sampleRateHz));
  const stepS = stepSamples / sampleRateHz;
  const wander = ornsteinUhlenbeck(stream(seed, 'muscle/contraction', side), logSd, memoryS, stepS);
  const fatigueAt = neckFatigue(scenario);
  let step = 0;
  let from = point();
  let to = point();

  /** Level at the next point in time. */
  function point(): number {
    const timeS = step * stepS - LEAD_IN_S;
    step++;
    const { held, fatigue } = fatigueAt(timeS, stepS);
    return exp(wander.next() - (logSd * logSd) / 2 - fatigue) * (held ? 1 : RELAXED);
  }

  return {
    fill(out, start, count) {
      for (let i = 0; i < count; i++) {
        const within = (start + i) % stepSamples;
        if (within === 0 && start + i > 0) {
          from = to;
          to = point();
        }
        out[i] = from + ((to - from) * within) / stepSamples;
      }
    },
  };
}

/**
 * Makes the fatigue of the neck, F of `contractionLevel`: e^(−F) is what is left of a fresh neck.
 *
 * @returns a function of the time on the clock of the session, s, and the step since the call before, s; times go up
 * @example neckFatigue(resolveScenario({ response: { kind: 'cvemp' } }))(0, 0) // { held: true, fatigue: 0 }
 */
export function neckFatigue(scenario: Scenario): (timeS: number, stepS: number) => { held: boolean; fatigue: number } {
  const { fatiguePerMin, recoveryS } = scenario.contraction;
  const { trainS, restS } = scenario.stimulus;
  const cycleS = trainS + restS;
  const pauses = pausesOf(scenario);
  const lowered = loweredSpans(scenario);
  let fatigue = 0;

  /** Whether the head is up. Trains go on after a pause where they stood before it. */
  function heldAt(timeS: number): boolean {
    let pausedS = 0;
    for (const { fromS, lengthS } of pauses) {
      if (timeS < fromS) break;
      if (timeS < fromS + lengthS - READY_S) return false;
      pausedS += Math.min(lengthS, timeS - fromS);
    }
    const trainTimeS = timeS - pausedS;
    if (trainS === 0 || trainTimeS <= 0) return true;
    const inCycleS = trainTimeS - cycleS * Math.floor(trainTimeS / cycleS);
    return inCycleS <= trainS || inCycleS >= cycleS - READY_S;
  }

  return (timeS, stepS) => {
    const held = heldAt(timeS);
    const tiring = held && !lowered.some(({ fromS, toS }) => timeS >= fromS && timeS < toS);
    fatigue = tiring ? fatigue + (fatiguePerMin / 60) * stepS : fatigue * exp(-stepS / recoveryS);
    return { held, fatigue };
  };
}

/** When the head lies down because somebody asked for it, on the clock of the session. */
function loweredSpans({ events }: Scenario): { fromS: number; toS: number }[] {
  const spans: { fromS: number; toS: number }[] = [];
  for (const { atS, action } of events) {
    const last = spans[spans.length - 1];
    const down = last !== undefined && last.toS === Infinity;
    if (action === 'lower-the-head' && !down) spans.push({ fromS: atS, toS: Infinity });
    if (action === 'lift-the-head' && down) last.toS = atS;
  }
  return spans;
}
