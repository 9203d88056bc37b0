import { cosineOfCycles } from '../elementary.ts';
import { ornsteinUhlenbeck } from '../random/ornsteinUhlenbeck.ts';
import { nextUniform, stream } from '../random/stream.ts';
import { CHANNEL_COUNT, type NoiseSource } from './noiseSource.ts';

const STEP_SAMPLES = 256; // the frequency is constant for so long: 16 ms, far below any wander

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
    const { lineHz, fundamentalUv, harmonicRatios, wanderHz, wanderMemoryS, contralateralGain } = scenario.mains;
    if (fundamentalUv === 0) return null;
    const { sampleRateHz } = scenario.converter;
    const phaseDraws = stream(seed, 'mains/phase');
    // Phases are drawn for absent harmonics too, so that removing one leaves the others as they were.
    const harmonics = harmonicRatios
      .map((ratio, h) => ({
        order: h + 1,
        sizesUv: [fundamentalUv * ratio, fundamentalUv * ratio * contralateralGain],
        phases: Array.from({ length: CHANNEL_COUNT }, () => nextUniform(phaseDraws)),
        now: new Float64Array(CHANNEL_COUNT),
        before: new Float64Array(CHANNEL_COUNT),
        twiceCos: 0,
      }))
      .filter(({ order, sizesUv }) => sizesUv[0] > 0 && order * lineHz < sampleRateHz / 2);
    const wander = ornsteinUhlenbeck(
      stream(seed, 'mains/wander'),
      wanderHz,
      wanderMemoryS,
      STEP_SAMPLES / sampleRateHz,
    );
    let turns = 0; // φ/2π at the start of the next step

    function startStep(): void {
      const turnsPerSample = (lineHz + wander.next()) / sampleRateHz;
      for (const { order, sizesUv, phases, now, before } of harmonics) {
        for (let c = 0; c < CHANNEL_COUNT; c++) {
          now[c] = sizesUv[c] * cosineOfCycles(order * turns + phases[c]);
          before[c] = sizesUv[c] * cosineOfCycles(order * (turns - turnsPerSample) + phases[c]);
        }
      }
      for (const harmonic of harmonics) harmonic.twiceCos = 2 * cosineOfCycles(harmonic.order * turnsPerSample);
      turns += turnsPerSample * STEP_SAMPLES;
      turns -= Math.floor(turns);
    }

    return {
      addUv(channelsUv, start, count) {
        const [out0, out1] = channelsUv;
        for (let from = 0; from < count; ) {
          const phase = (start + from) % STEP_SAMPLES;
          if (phase === 0) startStep();
          const to = Math.min(count, from + STEP_SAMPLES - phase);
          for (const { now, before, twiceCos } of harmonics) {
            let now0 = now[0];
            let now1 = now[1];
            let before0 = before[0];
            let before1 = before[1];
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
            now[0] = now0;
            now[1] = now1;
            before[0] = before0;
            before[1] = before1;
          }
          from = to;
        }
      },
    };
  },
};
