import { exp, log, power } from '../elementary.ts';
import type { Scenario } from '../scenario/schema.ts';
import { soundMs, toneBurst } from './burst.ts';
import { clickAbrWaves, clickLatencyVMs, nearNerve, nerveJitterMs, seenFrom } from './clickAbr.ts';
import { heardEars } from './heardEars.ts';
import { MODEL_ADULT, type NeuralEar, neuralEar } from './neuralEar.ts';
import type { ResponseKind } from './responseKind.ts';
import type { Channel } from './templateResponse.ts';
import { jitteredWaves } from './waveJitter.ts';
import type { Wave } from './waves.ts';

/** Brainstem response to a tone burst: a broad wave V, early waves only for loud high tones, a ripple for low ones. */
export const toneAbr: ResponseKind = {
  id: 'tone-abr',
  label: 'Tone-burst ABR',
  create: (scenario, seed) =>
    jitteredWaves(scenario, seed, {
      endMs: 18 + 12 + soundMs(scenario.stimulus), // a 500 Hz wave V at threshold and its slow trough
      waves: (_polarity, channel) => wavesAt(scenario, channel, seed),
      rest: (polarity, channel) => ripple(scenario, polarity, channel),
      extraJitterMs: nerveJitterMs(scenario),
    }),
};

/**
 * Latency of wave V for a tone burst, ms.
 *
 *     τ = 5 + 12.9 · 5^(−i) · f^(−0.413),   i = (L + 24)/100,  f in kHz                  [NE88], constants from memory
 *     + ½ · (rise − 2 cycles)  where the rise is longer than 1 ms                         our choice
 *
 * The 24 dB turn dB nHL into the level of the source. The formula holds for a rise of 2 cycles.
 *
 * @example toneLatencyVMs(80, 4000, 2) // 6.37
 */
export function toneLatencyVMs(levelDbNhl: number, frequencyHz: number, riseCycles: number): number {
  const intensity = (levelDbNhl + 24) / 100;
  const cycleMs = 1000 / frequencyHz;
  const slowRiseMs = riseCycles * cycleMs > 1 ? 0.5 * (riseCycles - 2) * cycleMs : 0;
  return 5 + 12.9 * power(5, -intensity) * power(frequencyHz / 1000, -0.413) + slowRiseMs;
}

const LOWEST_DB_NHL = 3; // dB nHL, model value: below it a tone wakes no wave

/** Waves of one ear for a tone burst. Model values where no source is named; arguments as in `clickAbrWaves`. */
export function toneAbrWaves(
  levelDbNhl: number,
  ratePerS: number,
  frequencyHz: number,
  riseCycles: number,
  channel: Channel,
  ear: NeuralEar = MODEL_ADULT,
  timingDbNhl = levelDbNhl,
): Wave[] {
  if (levelDbNhl < LOWEST_DB_NHL) return [];
  const click = clickAbrWaves(levelDbNhl, ratePerS, 1, channel, ear, timingDbNhl);
  const clickV = click.find(({ name }) => name === 'V') as Wave;
  const kHz = frequencyHz / 1000;
  const broad = power(4 / kHz, 0.42); // 1 at 4 kHz, 2.4 at 0.5 kHz
  const size = sizeOfClick(frequencyHz);
  // Everything but the level moves the tone's wave V as it moves the click's.
  const latencyV =
    toneLatencyVMs(timingDbNhl, frequencyHz, riseCycles) + clickV.latencyMs - clickLatencyVMs(timingDbNhl);
  const waveV: Wave = {
    name: 'V',
    latencyMs: latencyV,
    widthMs: 0.38 * broad,
    amplitudeUv: size * clickV.amplitudeUv,
    troughRatio: 0.9,
    troughDelayMs: 1.15 * broad,
  };
  const slow: Wave = {
    ...waveV,
    ...{ name: 'SN', latencyMs: latencyV + 2.4 * broad, widthMs: 0.9 * broad },
    ...{ amplitudeUv: -0.3 * waveV.amplitudeUv, troughRatio: 0 },
  };
  if (frequencyHz < 2000) return [waveV, slow];
  const loud = Math.min(1, Math.max(0, (levelDbNhl - 60) / 10)); // early waves come in around 65 dB nHL
  const early = click
    .filter(({ name }) => name === 'I' || name === 'III')
    .map((wave) => ({
      ...wave,
      latencyMs: latencyV + wave.latencyMs - clickV.latencyMs,
      amplitudeUv: loud * size * wave.amplitudeUv,
    }));
  return [...early, waveV, slow];
}

/** Size of wave V relative to a click's: 0.55, 0.6, 0.65, 0.7 at 0.5, 1, 2, 4 kHz, 0.05 an octave. Model values. */
function sizeOfClick(frequencyHz: number): number {
  return 0.6 + (0.05 * log(frequencyHz / 1000)) / log(2);
}

const RIPPLE_UV = 0.06; // µV at 100 dB nHL, model value
const RIPPLE_HIGHEST_HZ = 1000; // the nerve follows the cycles of low tones only

function wavesAt(scenario: Scenario, channel: Channel, seed: string): Wave[] {
  const { ratePerS, frequencyHz, riseCycles } = scenario.stimulus;
  return heardEars(scenario).flatMap((ear) =>
    toneAbrWaves(
      ear.levelDbNhl,
      ratePerS,
      frequencyHz,
      riseCycles,
      seenFrom(ear.side, channel),
      nearNerve(scenario, neuralEar(scenario, seed, ear.side)),
      ear.timingDbNhl,
    ),
  );
}

/**
 * What follows the cycles of a low tone, with the sign of the polarity: of each ear that hears it, as loud as it hears it.
 *
 * It comes from the nerve: one that is out of step shows `neuralGain` of it.
 */
function ripple(scenario: Scenario, polarity: 1 | -1, channel: Channel): (timeMs: number) => number {
  const { stimulus, hearing } = scenario;
  if (stimulus.frequencyHz > RIPPLE_HIGHEST_HZ) return () => 0;
  let rippleUv = 0;
  for (const { side, levelDbNhl } of heardEars(scenario)) {
    if (levelDbNhl < LOWEST_DB_NHL) continue;
    const loudness = exp((Math.min(100, levelDbNhl) - 100) / 40); // 0.06 µV at 100, 0.02 µV at 56 dB nHL
    const inStep = side === 'test' && hearing.desynchrony.present ? hearing.desynchrony.neuralGain : 1;
    rippleUv += polarity * RIPPLE_UV * loudness * (seenFrom(side, channel) === 'ipsilateral' ? 1 : 0.3) * inStep;
  }
  return (timeMs) => rippleUv * toneBurst(stimulus, timeMs - 1);
}
