import { exp } from '../elementary.ts';
import type { Scenario } from '../scenario/schema.ts';

/**
 * Click-evoked auditory brainstem response of a model adult: waves I–VI and the slow negativity.
 *
 *     s(t) = Σ_w A_w · [ g(t; τ_w, σ_w) − ρ_w · g(t; τ_w + δ_w, 1.4·σ_w) ],   g(t; τ, σ) = exp(−(t − τ)²/2σ²)
 *
 * t = 0 is the arrival of the sound at the ear tip. Every constant is a model value (our choice, plausible for
 * teaching) unless a source is named. Overlap moves the peaks: τ_V is not the latency of peak V in the sum.
 */

interface Wave {
  name: 'I' | 'II' | 'III' | 'IV' | 'V' | 'VI' | 'SN';
  latencyMs: number;
  widthMs: number;
  /** µV base to peak, positive up at the vertex. */
  amplitudeUv: number;
  /** Trough that follows: its size relative to the peak, and its delay. */
  troughRatio: number;
  troughDelayMs: number;
}

/** The seven components for one level, rate, polarity and channel. */
export function clickAbrWaves(
  levelDbNhl: number,
  ratePerS: number,
  polarity: 1 | -1,
  channel: 'ipsilateral' | 'contralateral',
): Wave[] {
  if (levelDbNhl < 3) return []; // dB nHL: below hearing there is no response
  const contra = channel === 'contralateral';
  const rarefaction = polarity === -1;
  const fasterPerS = ratePerS - 10;

  // Rate: wave V is 0.5 ms later at 100/s than at 10/s [DA77]; earlier waves shift less (model values).
  const latencyV = 5.05 + 4.1 * exp(-levelDbNhl / 38) + 0.0055 * fasterPerS + (contra ? 0.05 : 0);
  const quietDb = Math.max(0, 60 - levelDbNhl);
  const intervalIToV = 3.95 - 0.003 * quietDb;
  const latencyVAtReference = 5.05 + 4.1 * exp(-levelDbNhl / 38);
  const latencyI = latencyVAtReference - intervalIToV + 0.0015 * fasterPerS + (rarefaction ? -0.06 : 0);
  const latencyIII = latencyVAtReference - (intervalIToV * 1.85) / 3.95 + 0.003 * fasterPerS + (contra ? -0.1 : 0);

  const sizeV = 0.5 * (1 - exp(-levelDbNhl / 35)) * Math.max(0.1, 1 - 0.0025 * fasterPerS);
  const sizeI = (0.28 / (1 + exp(-(levelDbNhl - 62) / 9))) * exp(-fasterPerS / 70) * (rarefaction ? 1.15 : 1);
  const sizeIII = 0.26 / (1 + exp(-(levelDbNhl - 50) / 10));
  const widening = 1 + 0.006 * Math.max(0, 70 - levelDbNhl);

  const wave = (
    name: Wave['name'],
    latencyMs: number,
    widthMs: number,
    amplitudeUv: number,
    contraGain: number,
  ): Wave => ({
    name,
    latencyMs,
    widthMs: widthMs * widening,
    amplitudeUv: amplitudeUv * (contra ? contraGain : 1),
    troughRatio: name === 'V' ? 0.9 : 0.6,
    troughDelayMs: name === 'V' ? 1.15 : 1.9 * widthMs * widening,
  });
  return [
    wave('I', latencyI, 0.2, sizeI, 0.1),
    wave('II', latencyI + 1.05, 0.22, 0.45 * sizeIII, 0.5),
    wave('III', latencyIII, 0.25, sizeIII, 0.5),
    wave('IV', latencyV - 0.55, 0.3, (0.55 * sizeV * levelDbNhl) / 85, 0.8),
    wave('V', latencyV, 0.36, sizeV, 0.85),
    wave('VI', latencyV + 1.6, 0.4, 0.25 * sizeV, 0.85), // size: our choice, no source
    { ...wave('SN', latencyV + 2.4, 0.9, -0.3 * sizeV, 0.85), troughRatio: 0 }, // size: our choice, no source
  ];
}

/** Value of the response at one time after the stimulus, µV. */
export function clickAbrUv(waves: readonly Wave[], timeMs: number): number {
  let sum = 0;
  for (const wave of waves) {
    const rise = (timeMs - wave.latencyMs) / wave.widthMs;
    const fall = (timeMs - wave.latencyMs - wave.troughDelayMs) / (1.4 * wave.widthMs);
    sum += wave.amplitudeUv * (exp(-0.5 * rise * rise) - wave.troughRatio * exp(-0.5 * fall * fall));
  }
  return sum;
}

/** Time after the stimulus at which the response is over, ms: the template ends here. */
export const CLICK_ABR_END_MS = 18;

/** Tabulates the response of one polarity and channel, µV, at `stepMs`. */
export function clickAbrTemplate(
  scenario: Scenario,
  polarity: 1 | -1,
  channel: 'ipsilateral' | 'contralateral',
  stepMs: number,
): Float64Array {
  const { levelDbNhl, ratePerS } = scenario.stimulus;
  const waves = clickAbrWaves(levelDbNhl, ratePerS, polarity, channel);
  const template = new Float64Array(Math.ceil(CLICK_ABR_END_MS / stepMs) + 1);
  for (let i = 0; i < template.length; i++) template[i] = clickAbrUv(waves, i * stepMs);
  return template;
}
