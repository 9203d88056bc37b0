import { nextUniform, stream } from '../random/stream.ts';
import type { Scenario } from '../scenario/schema.ts';
import { pausesOf, withPauses } from './pauses.ts';

/** One presentation of the stimulus. */
export interface Presentation {
  /** Number of the presentation, from 0. */
  index: number;
  /** Sample of the continuous recording at which the sound reaches the ear tip. */
  sample: number;
  /** +1 condensation, −1 rarefaction. */
  polarity: 1 | -1;
}

// s, our choice: filters and input coupling have settled on the background before the first stimulus.
export const LEAD_IN_S = 0.5;

/** Train to which a stimulus belongs, from 0; without trains all of them are in the first. */
export function trainOf(scenario: Scenario, index: number): number {
  const { ratePerS, trainS } = scenario.stimulus;
  // A stimulus on the border opens the next train, also where doubles put it 10⁻¹² before.
  return trainS > 0 ? Math.floor(index / ratePerS / trainS + 1e-9) : 0;
}

/**
 * Beat of a stimulus, s after the first one, rests and pauses included: the clock of the session.
 *
 *     t[k] = k/rate + train[k]·rest + pauses before it,   train[k] = ⌊k/(rate·trainS)⌋
 */
export function beatS(scenario: Scenario, index: number): number {
  const { ratePerS, trainS, restS } = scenario.stimulus;
  const steadyS = trainS > 0 ? index / ratePerS + trainOf(scenario, index) * restS : index / ratePerS;
  return scenario.events.length === 0 ? steadyS : withPauses(pausesOf(scenario), steadyS);
}

/**
 * Says when each stimulus comes.
 *
 *     t[k] = leadIn + beat[k] + U[k],   U uniform in ±jitter
 *
 * The jitter moves each stimulus about its own beat and does not add up, so the residual of locked mains is
 * A·|D_N|·|sinc(2·h·f₀·J)|. Times are rounded to whole samples, for stimulus, response and cut alike.
 */
export function presentationAt(scenario: Scenario, jitterDraw: number, index: number): Presentation {
  const { jitterMs } = scenario.stimulus;
  const timeS = LEAD_IN_S + beatS(scenario, index) + (jitterMs / 1000) * (2 * jitterDraw - 1);
  return {
    index,
    sample: Math.round(timeS * scenario.converter.sampleRateHz),
    polarity: polarityOf(scenario, index),
  };
}

function polarityOf(scenario: Scenario, index: number): 1 | -1 {
  const { polarity, sweepsPerPolarityBlock } = scenario.stimulus;
  if (polarity === 'alternating') return index % 2 === 0 ? 1 : -1;
  if (polarity === 'blocks') return Math.floor(index / sweepsPerPolarityBlock) % 2 === 0 ? 1 : -1;
  return polarity === 'condensation' ? 1 : -1;
}

/** Number of presentations that fit in the session; rests between trains and pauses do not count as session. */
export function presentationCount(scenario: Scenario): number {
  // 100 · 4.35 is 434.99999999999994 in doubles: a beat that ends with the session counts.
  return Math.floor(scenario.session.durationS * scenario.stimulus.ratePerS + 1e-9);
}

/** Makes the sequence of presentations; each call returns the next one. Draws from the stream 'stimulus/jitter'. */
export function stimulusSchedule(scenario: Scenario, seed: string): () => Presentation {
  const draws = stream(seed, 'stimulus/jitter');
  let index = 0;
  return () => presentationAt(scenario, nextUniform(draws), index++);
}
