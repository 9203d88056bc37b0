import { cosineOfCycles } from '../elementary.ts';
import { nextUniform, stream } from '../random/stream.ts';
import { lineFrequency, LINE_STEP_SAMPLES as STEP_SAMPLES } from './lineFrequency.ts';
import { CHANNEL_COUNT, type NoiseSource } from './noiseSource.ts';

/**
 * Pickup from the electric supply, with harmonics, on absolute time.
 *
 *     m(t) = Σ_h A_h · cos(h·φ(t) + θ_h),   φ(t) = 2π ∫ (f₀ + δf) dt,   δf Ornstein–Uhlenbeck
 *
 * Phase belongs to the clock on the wall, not to the stimulus: a stimulus rate that divides a harmonic locks with it,
 * and averaging then keeps it. Each channel has its own phases θ_h. Within a step every harmonic is the recurrence
 * y[n] = 2·cos(hω)·y[n−1] − y[n−2], started afresh from the exact phase. Streams: 'mains/phase', 'mains/wander'.
 */
export const mains: NoiseSource = {
  id: 'mains',
  label: 'Mains',
  create(scenario, seed) {
    const { lineHz, fundamentalUv, harmonicRatios, contralateralGain } = scenario.mains;
    if (fundamentalUv === 0) return null;
    const { sampleRateHz } = scenario.converter;
    const phaseDraws = stream(seed, 'mains/phase');
    // Phases are drawn for absent harmonics too, so that removing one leaves the others as they were.
    const harmonics: Harmonic[] = harmonicRatios
      .map((ratio, h) => ({
        order: h + 1,
        sizesUv: [fundamentalUv * ratio, fundamentalUv * ratio * contralateralGain],
        phases: Array.from({ length: CHANNEL_COUNT }, () => nextUniform(phaseDraws)),
        oscillators: new Float64Array(2 * CHANNEL_COUNT),
        twiceCos: 0,
      }))
      .filter(({ order, sizesUv }) => sizesUv[0] > 0 && order * lineHz < sampleRateHz / 2);
    const frequency = lineFrequency(scenario, seed);
    let turns = 0; // φ/2π at the start of the next step

    function startStep(): void {
      const turnsPerSample = frequency();
      for (const { order, sizesUv, phases, oscillators } of harmonics) {
        for (let c = 0; c < CHANNEL_COUNT; c++) {
          oscillators[2 * c] = sizesUv[c] * cosineOfCycles(order * turns + phases[c]);
          oscillators[2 * c + 1] = sizesUv[c] * cosineOfCycles(order * (turns - turnsPerSample) + phases[c]);
        }
      }
      for (const harmonic of harmonics) harmonic.twiceCos = 2 * cosineOfCycles(harmonic.order * turnsPerSample);
      turns += turnsPerSample * STEP_SAMPLES;
      turns -= Math.floor(turns);
    }

    return {
      addUv([out0, out1], start, count) {
        for (let from = 0; from < count; ) {
          const phase = (start + from) % STEP_SAMPLES;
          if (phase === 0) startStep();
          const to = Math.min(count, from + STEP_SAMPLES - phase);
          let h = 0;
          for (; h + 1 < harmonics.length; h += 2) addTwo(harmonics[h], harmonics[h + 1], out0, out1, from, to);
          if (h < harmonics.length) addOne(harmonics[h], out0, out1, from, to);
          from = to;
        }
      },
    };
  },
};

interface Harmonic {
  order: number;
  sizesUv: number[];
  phases: number[];
  /** The value now and the value before, of each channel. */
  oscillators: Float64Array;
  twiceCos: number;
}

function addOne(
  { oscillators, twiceCos }: Harmonic,
  out0: Float64Array,
  out1: Float64Array,
  from: number,
  to: number,
): void {
  let now0 = oscillators[0];
  let before0 = oscillators[1];
  let now1 = oscillators[2];
  let before1 = oscillators[3];
  for (let i = from; i < to; i++) {
    out0[i] += now0;
    out1[i] += now1;
    const next0 = twiceCos * now0 - before0;
    const next1 = twiceCos * now1 - before1;
    before0 = now0;
    before1 = now1;
    now0 = next0;
    now1 = next1;
  }
  oscillators[0] = now0;
  oscillators[1] = before0;
  oscillators[2] = now1;
  oscillators[3] = before1;
}

/** Two harmonics in one pass: each recurrence waits for itself, and more of them fill the gaps (`npm run bench`). */
function addTwo(
  { oscillators: a, twiceCos: twiceCosA }: Harmonic,
  { oscillators: b, twiceCos: twiceCosB }: Harmonic,
  out0: Float64Array,
  out1: Float64Array,
  from: number,
  to: number,
): void {
  let a0 = a[0];
  let beforeA0 = a[1];
  let a1 = a[2];
  let beforeA1 = a[3];
  let b0 = b[0];
  let beforeB0 = b[1];
  let b1 = b[2];
  let beforeB1 = b[3];
  for (let i = from; i < to; i++) {
    out0[i] += a0 + b0;
    out1[i] += a1 + b1;
    const nextA0 = twiceCosA * a0 - beforeA0;
    const nextA1 = twiceCosA * a1 - beforeA1;
    const nextB0 = twiceCosB * b0 - beforeB0;
    const nextB1 = twiceCosB * b1 - beforeB1;
    beforeA0 = a0;
    beforeA1 = a1;
    beforeB0 = b0;
    beforeB1 = b1;
    a0 = nextA0;
    a1 = nextA1;
    b0 = nextB0;
    b1 = nextB1;
  }
  a[0] = a0;
  a[1] = beforeA0;
  a[2] = a1;
  a[3] = beforeA1;
  b[0] = b0;
  b[1] = beforeB0;
  b[2] = b1;
  b[3] = beforeB1;
}
