import { exp, sineOfCycles } from '../elementary.ts';
import { nextExponential, nextLogNormal, nextUniform, stream } from '../random/stream.ts';
import type { NoiseSource } from './noiseSource.ts';

// A switched coil rings with its cable: model values, our choice.
const RING_HZ = 600;
const RING_LOG_SD = 0.4;
const DECAY_S = 0.003;
const SIZE_LOG_SD = 0.5;
const LASTING_DECAYS = 14; // a millionth is left when it is forgotten
const CONTRALATERAL = 0.8;

interface Transient {
  from: number; // sample of the recording
  sizeUv: number;
  turnsPerSample: number;
}

/**
 * Motors and pumps that are switched on or off: each time a short ringing reaches both channels.
 *
 *     x(t) = ± size·sin(2πf·t)·exp(−t/3 ms)          from the switching on
 *
 * Moments are Poisson, sizes and frequencies (median 600 Hz, below 0.4 of the sample rate) log-normal. What a pump that
 * runs does to the field in the room is an event on `room.fieldUt`. Stream: 'switching/moments'.
 */
export const switching: NoiseSource = {
  id: 'switching',
  label: 'Switching',
  beyondContacts: true,
  create(scenario, seed) {
    const { switchingsPerS, switchingUv } = scenario.room;
    if (switchingsPerS === 0 || switchingUv === 0) return null;
    const { sampleRateHz } = scenario.converter;
    const draws = stream(seed, 'switching/moments');
    const decaySamples = DECAY_S * sampleRateHz;
    const lasting = Math.ceil(LASTING_DECAYS * decaySamples);
    let momentS = 0;
    let upcoming = nextTransient();
    let ringing: Transient[] = [];

    function nextTransient(): Transient {
      momentS += nextExponential(draws) / switchingsPerS;
      const sizeUv = nextLogNormal(draws, switchingUv, SIZE_LOG_SD);
      const hz = Math.min(nextLogNormal(draws, RING_HZ, RING_LOG_SD), 0.4 * sampleRateHz);
      const up = nextUniform(draws) < 0.5;
      return {
        from: Math.ceil(momentS * sampleRateHz),
        sizeUv: up ? sizeUv : -sizeUv,
        turnsPerSample: hz / sampleRateHz,
      };
    }

    return {
      addUv([out0, out1], start, count) {
        const end = start + count;
        while (upcoming.from < end) {
          ringing.push(upcoming);
          upcoming = nextTransient();
        }
        for (const { from, sizeUv, turnsPerSample } of ringing) {
          const last = Math.min(end, from + lasting);
          for (let i = Math.max(start, from); i < last; i++) {
            const age = i - from;
            const value = sizeUv * sineOfCycles(turnsPerSample * age) * exp(-age / decaySamples);
            out0[i - start] += value;
            out1[i - start] += CONTRALATERAL * value;
          }
        }
        ringing = ringing.filter(({ from }) => from + lasting > end);
      },
    };
  },
};
