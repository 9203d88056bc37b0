import { ornsteinUhlenbeck } from '../random/ornsteinUhlenbeck.ts';
import { nextUniform, stream } from '../random/stream.ts';
import type { Scenario } from '../scenario/schema.ts';
import { SLOW_STEP_SAMPLES } from './slowLevels.ts';

const RATE_MEMORY_S = 10; // how long a breath keeps its pace, our choice
const SLOWEST_SHARE = 0.2; // a breath is never slower than this share of the mean rate, our choice

/** The phase of a patient's breath. */
export interface BreathingRhythm {
  /** Phase in turns at sample 32·step; steps must not decrease from call to call. */
  turnsAtStep(step: number): number;
}

/**
 * Makes the breath of a patient: every reader of the same scenario and seed sees the same one.
 *
 *     φ(t) = φ₀ + ∫ f·max(1 + d, 0.2) dt,   d Ornstein–Uhlenbeck, SD `rateSd`, memory 10 s
 *
 * Stream: 'breathing/rhythm'.
 */
export function breathingRhythm(scenario: Scenario, seed: string): BreathingRhythm {
  const { breathsPerMin, rateSd } = scenario.breathing;
  const draws = stream(seed, 'breathing/rhythm');
  const stepS = SLOW_STEP_SAMPLES / scenario.converter.sampleRateHz;
  let turns = nextUniform(draws);
  const wander = ornsteinUhlenbeck(draws, rateSd, RATE_MEMORY_S, stepS);
  let at = 0;
  return {
    turnsAtStep(step) {
      for (; at < step; at++) {
        turns += (breathsPerMin / 60) * stepS * Math.max(1 + wander.next(), SLOWEST_SHARE);
        if (turns >= 1) turns -= 1;
      }
      return turns;
    },
  };
}
