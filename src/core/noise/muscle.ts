import { nextExponential, nextLogNormal, nextUniform, stream } from '../random/stream.ts';
import { muscleCarrier } from './muscleCarrier.ts';
import type { NoiseSource } from './noiseSource.ts';

interface Burst {
  from: number; // samples of the recording
  to: number;
  rise: number; // samples
  rmsUv: number;
}

/**
 * Muscle bursts: clenches and swallows.
 *
 *     e(t) = z(t) · Σ_b a_b · envelope_b(t)
 *
 * Onsets are Poisson, lengths and sizes log-normal, the envelope rises and falls smoothly in 30–80 ms, and z is noise
 * of the muscle spectrum, independent in the two channels. All draws of a burst come at its onset in a fixed order, so
 * a larger burst is the same burst, larger. Streams: 'muscle/bursts', 'muscle/carrier'.
 */
export const muscle: NoiseSource = {
  id: 'muscle',
  label: 'Muscle bursts',
  create(scenario, seed) {
    const { burstsPerS, durationS, durationLogSd, burstUv, burstLogSd, lowHz, highHz, contralateralGain } =
      scenario.muscle;
    if (burstsPerS === 0 || burstUv === 0) return null;
    const { sampleRateHz } = scenario.converter;
    const draws = stream(seed, 'muscle/bursts');
    const carriers = [0, 1].map((channel) =>
      muscleCarrier(stream(seed, 'muscle/carrier', channel), lowHz, highHz, sampleRateHz),
    );
    const gains = [1, contralateralGain];
    let onsetS = 0;
    let next = drawBurst();
    let active: Burst[] = [];
    let carrierAt = -1; // sample up to which the carriers have been drawn without a gap
    let envelope = new Float64Array(0);
    let carrier = new Float64Array(0);

    function drawBurst(): Burst {
      onsetS += nextExponential(draws) / burstsPerS;
      const from = Math.ceil(onsetS * sampleRateHz);
      const length = Math.ceil(nextLogNormal(draws, durationS, durationLogSd) * sampleRateHz);
      const rmsUv = nextLogNormal(draws, burstUv, burstLogSd);
      const rise = Math.ceil((0.03 + 0.05 * nextUniform(draws)) * sampleRateHz);
      return { from, to: from + Math.max(length, 2 * rise), rise, rmsUv };
    }

    /** Plays samples [from, to) of the recording, during all of which at least one burst is active. */
    function play(channelsUv: readonly Float64Array[], start: number, from: number, to: number): void {
      const count = to - from;
      envelope.fill(0, 0, count);
      for (const burst of active) addEnvelope(envelope, burst, from, to);
      for (let c = 0; c < 2; c++) {
        if (carrierAt !== from) carriers[c].reset();
        carriers[c].fill(carrier, count);
        const out = channelsUv[c];
        const gain = gains[c];
        for (let i = 0; i < count; i++) out[from - start + i] += gain * envelope[i] * carrier[i];
      }
      carrierAt = to;
    }

    return {
      addUv(channelsUv, start, count) {
        if (envelope.length < count) {
          envelope = new Float64Array(count);
          carrier = new Float64Array(count);
        }
        const end = start + count;
        while (next.from < end) {
          active.push(next);
          next = drawBurst();
        }
        // Bursts may overlap: play the stretches that their union covers.
        let from = start;
        while (from < end) {
          const covering = active.filter((burst) => burst.from <= from && burst.to > from);
          if (covering.length > 0) {
            let to = Math.max(...covering.map((burst) => burst.to));
            for (const burst of active) if (burst.from <= to && burst.to > to) to = burst.to;
            play(channelsUv, start, from, Math.min(to, end));
            from = Math.min(to, end);
          } else {
            from = Math.min(end, ...active.filter((burst) => burst.from > from).map((burst) => burst.from));
          }
        }
        active = active.filter((burst) => burst.to > end);
      },
    };
  },
};

/** Adds the envelope of one burst for samples [from, to): a smooth step 3u² − 2u³ up and down. */
function addEnvelope(envelope: Float64Array, burst: Burst, from: number, to: number): void {
  const first = Math.max(from, burst.from);
  const last = Math.min(to, burst.to);
  for (let i = first; i < last; i++) {
    const edge = Math.min(i - burst.from, burst.to - 1 - i);
    const u = edge < burst.rise ? edge / burst.rise : 1;
    envelope[i - from] += burst.rmsUv * u * u * (3 - 2 * u);
  }
}
