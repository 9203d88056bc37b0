import type { PlayingNoise } from './noiseSource.ts';

/** One burst of activity. Samples count from the start of the recording. */
export interface Burst {
  from: number;
  to: number;
  /** Samples in which the envelope rises, and falls. */
  rise: number;
  rmsUv: number;
}

/** Noise that bursts are cut from; `muscleCarrier` makes one. */
export interface BurstCarrier {
  fill(out: Float64Array, count: number): void;
  reset(): void;
}

/**
 * Plays bursts: in each channel its own carrier, times the sum of the envelopes of the bursts under way.
 *
 *     e(t) = gain · z(t) · Σ_b a_b · envelope_b(t)
 *
 * The envelope is the smooth step 3u² − 2u³ up and down. Carriers run only while a burst does and start from rest, so
 * a quiet patient costs next to nothing.
 *
 * @param nextBurst - called for one burst after the other, in order of their onset
 * @param carriers - one for each channel, unit variance   @param gains - one for each channel
 */
export function burstTrain(
  nextBurst: () => Burst,
  carriers: readonly BurstCarrier[],
  gains: readonly number[],
): PlayingNoise {
  let upcoming = nextBurst();
  let active: Burst[] = [];
  let carrierAt = -1; // sample up to which the carriers have been drawn without a gap
  let envelope = new Float64Array(0);
  let carrier = new Float64Array(0);

  /** Plays samples [from, to) of the recording, during all of which at least one burst is active. */
  function play(channelsUv: readonly Float64Array[], start: number, from: number, to: number): void {
    const count = to - from;
    envelope.fill(0, 0, count);
    for (const burst of active) addEnvelope(envelope, burst, from, to);
    for (let c = 0; c < gains.length; c++) {
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
      const end = start + count;
      while (upcoming.from < end) {
        active.push(upcoming);
        upcoming = nextBurst();
      }
      if (active.length === 0) return;
      if (envelope.length < count) {
        envelope = new Float64Array(count);
        carrier = new Float64Array(count);
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
}

/** Adds the envelope of one burst for samples [from, to). */
function addEnvelope(envelope: Float64Array, burst: Burst, from: number, to: number): void {
  const first = Math.max(from, burst.from);
  const last = Math.min(to, burst.to);
  for (let i = first; i < last; i++) {
    const edge = Math.min(i - burst.from, burst.to - 1 - i);
    const u = edge < burst.rise ? edge / burst.rise : 1;
    envelope[i - from] += burst.rmsUv * u * u * (3 - 2 * u);
  }
}
