import { exp } from '../elementary.ts';
import { laterEar } from './laterEar.ts';
import type { ResponseKind } from './responseKind.ts';
import { type Channel, templateResponse } from './templateResponse.ts';
import { bump, type Wave, wavesUv } from './waves.ts';

/** Middle-latency response: Na, Pa, Nb, Pb. At 40 stimuli a second its waves fall on one another and grow. */
export const middleLatency: ResponseKind = {
  id: 'middle-latency',
  label: 'Middle-latency response',
  create(scenario, seed) {
    const ear = laterEar(scenario, NERVE_EXPONENT, growth);
    return templateResponse(scenario, seed, {
      endMs: 90,
      curve(_polarity, channel) {
        const waves = ear ? middleLatencyWaves(ear.levelDbNhl, channel) : [];
        const { delayMs, sizeFactor } = ear ?? { delayMs: 0, sizeFactor: 0 };
        const shown = waves.map((wave) => ({
          ...wave,
          latencyMs: wave.latencyMs + delayMs,
          amplitudeUv: wave.amplitudeUv * sizeFactor,
        }));
        return (timeMs) => wavesUv(shown, timeMs);
      },
      extraJitterMs: ear?.jitterMs ?? 0,
    });
  },
};

const NERVE_EXPONENT = 0.5; // model value: waves of 10 ms lose only the root of what a sick nerve takes off the brainstem

function growth(levelDbNhl: number): number {
  return levelDbNhl < 3 ? 0 : 1 - exp(-levelDbNhl / 30);
}

/**
 * The four waves, positive up at the vertex: Na 18, Pa 30, Nb 40, Pb 52 ms, 0.5 to 1 µV.
 *
 *     size(L) = 1 − e^(−L/30),  nothing below 3 dB nHL
 *
 * Model values. They keep their size at every rate: what changes at 40/s is their overlap. The two channels are
 * nearly alike, because the generators lie deep and to both sides. Sleep is not modelled.
 */
export function middleLatencyWaves(levelDbNhl: number, channel: Channel): Wave[] {
  if (levelDbNhl < 3) return [];
  const size = growth(levelDbNhl) * (channel === 'contralateral' ? 0.9 : 1);
  return [
    bump('Na', 18, 3, -0.5 * size),
    bump('Pa', 30, 4, 0.9 * size),
    bump('Nb', 40, 4, -0.6 * size),
    bump('Pb', 52, 5, 0.6 * size),
  ];
}
