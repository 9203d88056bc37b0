import { power } from '../elementary.ts';
import type { Scenario } from '../scenario/schema.ts';
import { nerveJitterMs } from './clickAbr.ts';
import { heardEars } from './heardEars.ts';

/** The ear that a response behind the brainstem follows, and what its nerve leaves of it. */
export interface LaterEar {
  /** Level at which a normal ear would answer as large, dB nHL. */
  levelDbNhl: number;
  /** × the size, 1 for a sound nerve. */
  sizeFactor: number;
  /** Added to every latency, ms. */
  delayMs: number;
  /** Added to the scatter of the latency from sweep to sweep, ms. */
  jitterMs: number;
}

/**
 * Says which ear gives the larger answer behind the brainstem, and what a sick nerve takes off it.
 *
 *     size × (g_d · g_r)^e,   g_d = neural gain of a nerve out of step, g_r = gain of the later waves of a slow nerve
 *     delay of a slow nerve in full, jitter of a nerve out of step in full
 *
 * e is 1 for what the brainstem does; less the longer the answer lasts, because nerve fibres that are out of step by a
 * fraction of a millisecond still add up in it. The far ear has a sound nerve. Model values.
 *
 * @param exponent - e, 0 … 1   @param growth - size of a normal ear's answer at a level in dB nHL, any unit
 * @returns the ear, or null if none hears the sound
 * @example laterEar(resolveScenario({ hearing: { desynchrony: { present: true } } }), 0.5, () => 1)?.sizeFactor // 0.22
 */
export function laterEar(
  scenario: Scenario,
  exponent: number,
  growth: (levelDbNhl: number) => number,
): LaterEar | null {
  let largest: LaterEar | null = null;
  let largestSize = -Infinity;
  for (const { side, levelDbNhl } of heardEars(scenario)) {
    const ear = { levelDbNhl, ...(side === 'test' ? nerveUnderTest(scenario, exponent) : SOUND_NERVE) };
    const size = ear.sizeFactor * growth(levelDbNhl);
    if (size <= largestSize) continue;
    largest = ear;
    largestSize = size;
  }
  return largest;
}

const SOUND_NERVE = { sizeFactor: 1, delayMs: 0, jitterMs: 0 };

function nerveUnderTest(scenario: Scenario, exponent: number): Omit<LaterEar, 'levelDbNhl'> {
  const { retrocochlear, desynchrony } = scenario.hearing;
  const gain =
    (desynchrony.present ? desynchrony.neuralGain : 1) * (retrocochlear.present ? retrocochlear.laterWavesGain : 1);
  return {
    sizeFactor: gain === 1 || gain === 0 ? gain : power(gain, exponent),
    delayMs: retrocochlear.present ? retrocochlear.delayMs : 0,
    jitterMs: nerveJitterMs(scenario),
  };
}
