import { cosineOfCycles, exp, PI } from '../elementary.ts';
import { ornsteinUhlenbeck } from '../random/ornsteinUhlenbeck.ts';
import { fillGaussian, stream } from '../random/stream.ts';
import { EEG_STATES } from './eegStates.ts';
import type { NoiseSource } from './noiseSource.ts';
import { sleepWaves } from './sleepWaves.ts';
import { slowLevels } from './slowLevels.ts';

const SWELL_STEP_SHIFT = 7; // the gain is constant for 2^7 samples: 6 ms at 20 kHz, far below any swell

/**
 * Background EEG: slow activity that falls by 6 dB per octave, a flat floor, alpha rhythm, and slow swells.
 *
 *     S(f) = a₁/(1 + (f/f₁)²) + alpha peak at 10 Hz + floor²      µV²/Hz, one-sided;  slow rms² = a₁·f₁·π/2
 *
 * Slow part and floor are drawn together as one ARMA(1,1) process with the same spectrum: one draw a sample. The two
 * channels share part of each; the swell (log-gain, Ornstein–Uhlenbeck) is common to both. The state of
 * vigilance scales all parts. Gaussian otherwise.
 */
export const eeg: NoiseSource = {
  id: 'eeg',
  label: 'EEG background',
  create(scenario, seed) {
    const { cornerHz, gainLogSd, gainMemoryS, channelCorrelation } = scenario.eeg;
    const { sampleRateHz } = scenario.converter;
    const { size } = EEG_STATES[scenario.eeg.state];
    const slowUv = size * scenario.eeg.slowUv;
    const alphaUv = size * scenario.eeg.alphaUv;
    const floorNvPerRtHz = size * scenario.eeg.floorNvPerRtHz;
    if (slowUv === 0 && alphaUv === 0 && floorNvPerRtHz === 0) return null;

    const floorUv = (floorNvPerRtHz / 1000) * Math.sqrt(sampleRateHz / 2);
    const background = slowPlusFloor(slowUv, floorUv, cornerHz, sampleRateHz);
    const alpha = alphaUv > 0 ? rhythm(alphaUv, sampleRateHz) : null;
    const draws = [0, 1].map((channel) => stream(seed, 'eeg/background', channel));
    const alphaDraws = [0, 1].map((channel) => stream(seed, 'eeg/alpha', channel));
    const swell = ornsteinUhlenbeck(
      stream(seed, 'eeg/swell'),
      gainLogSd,
      gainMemoryS,
      (1 << SWELL_STEP_SHIFT) / sampleRateHz,
    );
    const gain = slowLevels((levels, from, to) => {
      swell.fill(levels, from, to);
      for (let j = from; j < to; j++) levels[j] = exp(levels[j]);
    }, SWELL_STEP_SHIFT);
    const slowWaves = sleepWaves(scenario, seed);
    const mix = Float64Array.of(channelCorrelation, Math.sqrt(1 - channelCorrelation * channelCorrelation));
    const backgroundState = new Float64Array(4);
    const alphaState = new Float64Array(4);
    let white0 = new Float64Array(0);
    let white1 = new Float64Array(0);

    return {
      addUv([out0, out1], start, count) {
        if (white0.length < count) {
          white0 = new Float64Array(count);
          white1 = new Float64Array(count);
        }
        const phase = gain.advance(start, count);
        fillGaussian(draws[0], white0, count);
        fillGaussian(draws[1], white1, count);
        addBackground(background, mix, backgroundState, white0, white1, gain.levels, phase, out0, out1, count);
        slowWaves?.addUv([out0, out1], start, count);
        if (!alpha) return;
        fillGaussian(alphaDraws[0], white0, count);
        fillGaussian(alphaDraws[1], white1, count);
        addAlpha(alpha, mix, alphaState, white0, white1, gain.levels, phase, out0, out1, count);
      },
    };
  },
};

/**
 * Mixes and filters the draws of both channels, y[n] = ar·y[n−1] + w[n] + ma·w[n−1], and adds them at scale × gain.
 *
 * One loop for all of it: a pass over a block costs half a nanosecond a sample before it does anything.
 *
 * @param background - scale, ar, ma   @param mix - share of the first channel's draws in the second, and of its own
 * @param state - last output and last draw, of each channel
 */
function addBackground(
  background: Float64Array,
  mix: Float64Array,
  state: Float64Array,
  white0: Float64Array,
  white1: Float64Array,
  gains: Float64Array,
  phase: number,
  out0: Float64Array,
  out1: Float64Array,
  count: number,
): void {
  const scale = background[0];
  const ar = background[1];
  const ma = background[2];
  const shared = mix[0];
  const own = mix[1];
  let y0 = state[0];
  let y1 = state[1];
  let last0 = state[2];
  let last1 = state[3];
  for (let i = 0; i < count; i++) {
    const fresh0 = white0[i];
    const fresh1 = shared * fresh0 + own * white1[i];
    y0 = ar * y0 + (fresh0 + ma * last0);
    y1 = ar * y1 + (fresh1 + ma * last1);
    last0 = fresh0;
    last1 = fresh1;
    const gain = scale * gains[(phase + i) >> SWELL_STEP_SHIFT];
    out0[i] += gain * y0;
    out1[i] += gain * y1;
  }
  state[0] = y0;
  state[1] = y1;
  state[2] = last0;
  state[3] = last1;
}

/**
 * The same for y[n] = a1·y[n−1] − a2·y[n−2] + w[n].
 *
 * @param resonance - scale, a1, a2   @param state - last two outputs, of each channel
 */
function addAlpha(
  resonance: Float64Array,
  mix: Float64Array,
  state: Float64Array,
  white0: Float64Array,
  white1: Float64Array,
  gains: Float64Array,
  phase: number,
  out0: Float64Array,
  out1: Float64Array,
  count: number,
): void {
  const scale = resonance[0];
  const a1 = resonance[1];
  const a2 = resonance[2];
  const shared = mix[0];
  const own = mix[1];
  let now0 = state[0];
  let now1 = state[1];
  let before0 = state[2];
  let before1 = state[3];
  for (let i = 0; i < count; i++) {
    const next0 = a1 * now0 - a2 * before0 + white0[i];
    const next1 = a1 * now1 - a2 * before1 + (shared * white0[i] + own * white1[i]);
    before0 = now0;
    before1 = now1;
    now0 = next0;
    now1 = next1;
    const gain = scale * gains[(phase + i) >> SWELL_STEP_SHIFT];
    out0[i] += gain * next0;
    out1[i] += gain * next1;
  }
  state[0] = now0;
  state[1] = now1;
  state[2] = before0;
  state[3] = before1;
}

/**
 * Finds the ARMA(1,1) process whose spectrum is that of an AR(1) process plus independent white noise.
 *
 * AR(1): variance slow², pole a = exp(−2π·f₁/fs), innovation variance q = slow²(1 − a²). Adding white noise w², the
 * moving-average part must have the autocovariance c₀ = q + w²(1 + a²), c₁ = −a·w². Its invertible solution is
 * m = c₁/s², s² = (c₀ + √(c₀² − 4c₁²))/2. Source: spectral factorisation, any time-series textbook.
 *
 * @returns s, a, m, in a typed array so that the loop has them unboxed
 */
function slowPlusFloor(slowUv: number, floorUv: number, cornerHz: number, sampleRateHz: number): Float64Array {
  const ar = exp((-2 * PI * cornerHz) / sampleRateHz);
  const c0 = slowUv * slowUv * (1 - ar * ar) + floorUv * floorUv * (1 + ar * ar);
  const c1 = -ar * floorUv * floorUv;
  const innovation = (c0 + Math.sqrt(Math.max(0, c0 * c0 - 4 * c1 * c1))) / 2;
  return Float64Array.of(Math.sqrt(innovation), ar, innovation > 0 ? c1 / innovation : 0);
}

/**
 * AR(2) resonance at 10 Hz, 3.5 Hz wide at half power (the Gaussian peak of 1.5 Hz deviation), with the given rms.
 *
 * @returns scale, a1, a2
 */
function rhythm(rmsUv: number, sampleRateHz: number): Float64Array {
  const radius = exp((-PI * 3.5) / sampleRateHz);
  const a1 = 2 * radius * cosineOfCycles(10 / sampleRateHz);
  const a2 = radius * radius;
  // Variance of x[n] = a1·x[n−1] − a2·x[n−2] + g: (1 + a2) / ((1 − a2)·((1 + a2)² − a1²))
  const variance = (1 + a2) / ((1 - a2) * ((1 + a2) * (1 + a2) - a1 * a1));
  return Float64Array.of(rmsUv / Math.sqrt(variance), a1, a2);
}
