import type { Static, TObject } from '@sinclair/typebox';
import { quantity, section, wholeNumber } from '../scenario/quantity.ts';
import type { Verdict } from './visualRule.ts';

/** What a recording shows at one look, as far as a clinician can know. NaN for what cannot be told. */
export interface Look {
  sweepCount: number;
  /** Stimulation time so far, s. */
  seconds: number;
  /** Length of the session, s. */
  sessionS: number;
  /** Claimed residual noise, nV rms. */
  noiseNv: number;
  /** Estimated signal-to-noise ratio, as a ratio of sizes. */
  snr: number;
  /** A detection statistic, e.g. Fmp, and its limit at this look; Infinity for a look that may not decide. */
  statistic: number;
  limit: number;
}

/** Whether to stop, and why. */
interface StopDecision {
  stop: boolean;
  /** What the rule says of the response; 'cannot-tell' if it does not judge it. */
  verdict: Verdict;
  /** Plain words. */
  reason: string;
}

/** A rule for when to stop. */
export interface StoppingRule<Parameters = unknown> {
  /** Stored in studies and lessons: never renamed. */
  id: string;
  label: string;
  parameters: TObject;
  decide(look: Look, parameters: Parameters): StopDecision;
}

const carryOn: StopDecision = { stop: false, verdict: 'cannot-tell', reason: 'Not yet.' };

function stop(verdict: Verdict, reason: string): StopDecision {
  return { stop: true, verdict, reason };
}

const fixedCountParameters = section('so many sweeps', {
  sweepCount: wholeNumber('sweeps', 2000, 1, 1000000, 'stop after so many sweeps, whatever they are like'),
});

/** Stops after a number of sweeps: simple, and blind to the noise. */
const fixedCount: StoppingRule<Static<typeof fixedCountParameters>> = {
  id: 'fixed-count',
  label: 'So many sweeps',
  parameters: fixedCountParameters,
  decide: ({ sweepCount }, parameters) =>
    sweepCount >= parameters.sweepCount ? stop('cannot-tell', `${sweepCount} sweeps are in.`) : carryOn,
};

const noiseTargetParameters = section('quiet enough', {
  targetNv: quantity('nV rms', 40, 1, 100000, 'stop when the claimed residual noise is down to this'),
});

/** Stops at a residual noise: every recording is then equally good, if the claim is honest. */
const noiseTarget: StoppingRule<Static<typeof noiseTargetParameters>> = {
  id: 'noise-target',
  label: 'Quiet enough',
  parameters: noiseTargetParameters,
  decide: ({ noiseNv }, { targetNv }) =>
    noiseNv <= targetNv ? stop('cannot-tell', `Claimed noise ${noiseNv.toFixed(0)} nV.`) : carryOn,
};

const snrOrFloorParameters = section('clear, or quiet and empty', {
  snr: quantity('×', 3, 0.1, 100, 'present: size of the response over the noise'),
  floorNv: quantity('nV rms', 16, 1, 100000, 'absent: nothing found, and the noise is down to this'),
});

/**
 * Stops on either side: clear enough to be present, or quiet enough to be absent.
 *
 * The usual floor of a replicate gap of 25 nV is 15.7 nV of residual noise (B84).
 */
const snrOrFloor: StoppingRule<Static<typeof snrOrFloorParameters>> = {
  id: 'snr-or-floor',
  label: 'Clear, or quiet and empty',
  parameters: snrOrFloorParameters,
  decide({ snr, noiseNv }, parameters) {
    if (snr >= parameters.snr) return stop('present', `The response is ${snr.toFixed(1)} times the noise.`);
    return noiseNv <= parameters.floorNv ? stop('absent', `Nothing above ${noiseNv.toFixed(0)} nV of noise.`) : carryOn;
  },
};

const detectionParameters = section('detected: nothing to set', {});

/** Stops when a detection statistic passes the limit of its look. Limits come from `spendingLimits` or `constantLimit`. */
const detection: StoppingRule<Static<typeof detectionParameters>> = {
  id: 'detection',
  label: 'Detected',
  parameters: detectionParameters,
  decide: ({ statistic, limit }) =>
    statistic > limit ? stop('present', `${statistic.toFixed(2)} is above ${limit.toFixed(2)}.`) : carryOn,
};

const futilityParameters = section('out of reach', {
  targetNv: quantity('nV rms', 40, 1, 100000, 'residual noise that the session was meant to reach'),
  fromShare: quantity('', 0.1, 0, 1, 'share of the session before which the projection is not trusted'),
});

/**
 * Gives up when the target is out of reach: T = T_now·(noise/target)² lies beyond the end of the session.
 *
 * The projection is that of steady noise; after a noisy beginning it is too dark.
 */
const futility: StoppingRule<Static<typeof futilityParameters>> = {
  id: 'futility',
  label: 'Out of reach',
  parameters: futilityParameters,
  decide({ seconds, sessionS, noiseNv }, { targetNv, fromShare }) {
    if (!(seconds >= fromShare * sessionS)) return carryOn;
    const projectedS = projectedSeconds(seconds, noiseNv, targetNv);
    return projectedS > sessionS
      ? stop('cannot-tell', `${targetNv} nV would take ${projectedS.toFixed(0)} s.`)
      : carryOn;
  },
};

/** Every stopping rule. */
export const stoppingRules = [fixedCount, noiseTarget, snrOrFloor, detection, futility] as readonly StoppingRule[];

/** Finds a rule by its id. @throws {RangeError} naming the choices */
export function stoppingRule(id: string): StoppingRule {
  const found = stoppingRules.find((rule) => rule.id === id);
  if (found) return found;
  throw new RangeError(`unknown stopping rule "${id}"; one of ${stoppingRules.map((rule) => rule.id).join(', ')}`);
}

/**
 * Projects when a noise target will be reached: T·(noise/target)², as 1/√N says for steady noise.
 *
 * @example projectedSeconds(60, 80, 40) // 240
 */
export function projectedSeconds(seconds: number, noiseNv: number, targetNv: number): number {
  const factor = noiseNv / targetNv;
  return seconds * factor * factor;
}

/** One rule with its settings. */
export interface StoppingChoice {
  rule: string;
  parameters: Record<string, number>;
}

/** Where a session ends. */
export interface StoppedAt extends StopDecision {
  /** Number of the look. */
  look: number;
  /** Id of the rule that ended it; 'session-end' if none did. */
  rule: string;
}

/**
 * Finds where a session ends under several rules: at the first look at which one of them, in order, says stop.
 *
 * @throws {RangeError} for no look or an unknown rule
 */
export function stopAt(looks: readonly Look[], choices: readonly StoppingChoice[]): StoppedAt {
  if (looks.length === 0) throw new RangeError('stopAt: at least 1 look is needed, got none');
  const rules = choices.map(({ rule, parameters }) => ({ rule: stoppingRule(rule), parameters }));
  for (const [k, look] of looks.entries()) {
    for (const { rule, parameters } of rules) {
      const decision = rule.decide(look, parameters);
      if (decision.stop) return { ...decision, look: k, rule: rule.id };
    }
  }
  const verdict: Verdict = 'cannot-tell';
  return { stop: true, verdict, reason: 'The session is over.', look: looks.length - 1, rule: 'session-end' };
}
