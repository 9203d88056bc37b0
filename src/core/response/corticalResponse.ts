import { exp } from '../elementary.ts';
import type { Scenario } from '../scenario/schema.ts';
import { beatS, type Presentation } from '../stimulus/schedule.ts';
import { loudestEarDb } from './heardEars.ts';
import type { ResponseKind } from './responseKind.ts';
import { type Channel, templateResponse } from './templateResponse.ts';
import { bump, type Wave, wavesUv } from './waves.ts';

/** Cortical onset response P1–N1–P2: large, slow, and soon tired. */
export const corticalResponse: ResponseKind = {
  id: 'cortical',
  label: 'Cortical P1–N1–P2',
  create(scenario, seed) {
    const levelDb = loudestEarDb(scenario);
    return templateResponse(scenario, seed, {
      endMs: 400,
      curve(_polarity, channel) {
        const waves = levelDb === null ? [] : corticalWaves(levelDb, channel);
        return (timeMs) => wavesUv(waves, timeMs);
      },
      sizeOf: corticalRecovery(scenario),
    });
  },
};

/**
 * The three waves of a rested listener, positive up at the vertex.
 *
 *     P1 55 ms;  N1 100 + 60·e^(−L/25) ms;  P2 175 + 90·e^(−L/25) ms;  size(L) = 1 − e^(−L/30)
 *
 * N1 and P2 span 100–160 and 160–270 ms over level, and 10–15 µV together for loud sounds [LI10]; the curves between
 * are model values. The two channels are alike but for a tenth of the size. A nerve that is slow or out of step leaves
 * them as they are: waves of 50 ms and more add up fibres that differ by a millisecond (from memory: about half of the people
 * whose nerve is out of step have normal cortical waves). `plausibilityWarnings` says so.
 */
export function corticalWaves(levelDbNhl: number, channel: Channel): Wave[] {
  if (levelDbNhl < 3) return [];
  const size = (1 - exp(-levelDbNhl / 30)) * (channel === 'contralateral' ? 0.9 : 1);
  const faint = exp(-levelDbNhl / 25);
  return [
    bump('P1', 55 + 10 * faint, 12, 2 * size),
    bump('N1', 100 + 60 * faint, 18, -7.5 * size),
    bump('P2', 175 + 90 * faint, 28, 6.5 * size),
  ];
}

/**
 * Makes the size of each answer from the time since the last stimulus and since the beginning.
 *
 *     (1 − e^(−interval/2.5 s)) · (1 − h·(1 − e^(−t/60 s))),  the first stimulus is answered in full
 *
 * Model values. The interval is the real one, jitter and rests included; t is time since the first stimulus.
 */
export function corticalRecovery(scenario: Scenario): (presentation: Presentation) => number {
  const { recoveryS, habituation, habituationS } = scenario.cortical;
  const { sampleRateHz } = scenario.converter;
  let before = -Infinity;
  return ({ index, sample }) => {
    const intervalS = (sample - before) / sampleRateHz;
    before = sample;
    const rested = 1 - exp(-intervalS / recoveryS);
    return rested * (1 - habituation * (1 - exp(-beatS(scenario, index) / habituationS)));
  };
}
