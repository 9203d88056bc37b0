import { cosineOfCycles, exp, PI } from '../elementary.ts';
import { ornsteinUhlenbeck } from '../random/ornsteinUhlenbeck.ts';
import { fillGaussian, stream } from '../random/stream.ts';
import { EEG_STATES } from './eegStates.ts';
import type { NoiseSource } from './noiseSource.ts';
import { sleepWaves } from './sleepWaves.ts';
import { SLOW_STEP_SAMPLES, SLOW_STEP_SHIFT, slowLevels } from './slowLevels.ts';

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
      SLOW_STEP_SAMPLES / sampleRateHz,
    );
    const gain = slowLevels((levels, from, to) => {
      swell.fill(levels, from, to);
      for (let j = from; j < to; j++) levels[j] = exp(levels[j]);
    });
    const slowWaves = sleepWaves(scenario, seed);
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
        mixInto(white1, white0, channelCorrelation, count);
        addBackground(background, backgroundState, white0, white1, gain.levels, phase, out0, out1, count);
        slowWaves?.addUv([out0, out1], start, count);
        if (!alpha) return;
        fillGaussian(alphaDraws[0], white0, count);
        fillGaussian(alphaDraws[1], white1, count);
        mixInto(white1, white0, channelCorrelation, count);
        addAlpha(alpha, alphaState, white0, white1, gain.levels, phase, out0, out1, count);
      },
    };
  },
};

/** Turns `own` into draws of the given correlation with `common`, variance still 1. */
function mixInto(own: Float64Array, common: Float64Array, correlation: number, count: number): void {
  const ownShare = Math.sqrt(1 - correlation * correlation);
  for (let i = 0; i < count; i++) own[i] = correlation * common[i] + ownShare * own[i];
}

/** Filters the draws of both channels, y[n] = ar·y[n−1] + scale·(w[n] + ma·w[n−1]), and adds them at the gain. */
function addBackground(
  { scale, ar, ma }: Background,
  state: Float64Array, // last output and last draw, of each channel
  white0: Float64Array,
  white1: Float64Array,
  gains: Float64Array,
  phase: number,
  out0: Float64Array,
  out1: Float64Array,
  count: number,
): void {
  let y0 = state[0];
  let y1 = state[1];
  let last0 = state[2];
  let last1 = state[3];
  for (let i = 0; i < count; i++) {
    const fresh0 = scale * white0[i];
    const fresh1 = scale * white1[i];
    y0 = ar * y0 + (fresh0 + ma * last0);
    y1 = ar * y1 + (fresh1 + ma * last1);
    last0 = fresh0;
    last1 = fresh1;
    const gain = gains[(phase + i) >> SLOW_STEP_SHIFT];
    out0[i] += gain * y0;
    out1[i] += gain * y1;
  }
  state[0] = y0;
  state[1] = y1;
  state[2] = last0;
  state[3] = last1;
}

/** Filters the draws of both channels, y[n] = a1·y[n−1] − a2·y[n−2] + scale·w[n], and adds them at the gain. */
function addAlpha(
  { a1, a2, scale }: Resonance,
  state: Float64Array, // last two outputs, of each channel
  white0: Float64Array,
  white1: Float64Array,
  gains: Float64Array,
  phase: number,
  out0: Float64Array,
  out1: Float64Array,
  count: number,
): void {
  let now0 = state[0];
  let now1 = state[1];
  let before0 = state[2];
  let before1 = state[3];
  for (let i = 0; i < count; i++) {
    const next0 = a1 * now0 - a2 * before0 + scale * white0[i];
    const next1 = a1 * now1 - a2 * before1 + scale * white1[i];
    before0 = now0;
    before1 = now1;
    now0 = next0;
    now1 = next1;
    const gain = gains[(phase + i) >> SLOW_STEP_SHIFT];
    out0[i] += gain * next0;
    out1[i] += gain * next1;
  }
  state[0] = now0;
  state[1] = now1;
  state[2] = before0;
  state[3] = before1;
}

interface Background {
  scale: number;
  ar: number;
  ma: number;
}

/**
 * Finds the ARMA(1,1) process whose spectrum is that of an AR(1) process plus independent white noise.
 *
 * AR(1): variance slow², pole a = exp(−2π·f₁/fs), innovation variance q = slow²(1 − a²). Adding white noise w², the
 * moving-average part must have the autocovariance c₀ = q + w²(1 + a²), c₁ = −a·w². Its invertible solution is
 * m = c₁/s², s² = (c₀ + √(c₀² − 4c₁²))/2. Source: spectral factorisation, any time-series textbook.
 */
function slowPlusFloor(slowUv: number, floorUv: number, cornerHz: number, sampleRateHz: number): Background {
  const ar = exp((-2 * PI * cornerHz) / sampleRateHz);
  const c0 = slowUv * slowUv * (1 - ar * ar) + floorUv * floorUv * (1 + ar * ar);
  const c1 = -ar * floorUv * floorUv;
  const innovation = (c0 + Math.sqrt(Math.max(0, c0 * c0 - 4 * c1 * c1))) / 2;
  return { scale: Math.sqrt(innovation), ar, ma: innovation > 0 ? c1 / innovation : 0 };
}

interface Resonance {
  a1: number;
  a2: number;
  scale: number;
}

/** AR(2) resonance at 10 Hz, 3.5 Hz wide at half power (the Gaussian peak of 1.5 Hz deviation), with the given rms. */
function rhythm(rmsUv: number, sampleRateHz: number): Resonance {
  const radius = exp((-PI * 3.5) / sampleRateHz);
  const a1 = 2 * radius * cosineOfCycles(10 / sampleRateHz);
  const a2 = radius * radius;
  // Variance of x[n] = a1·x[n−1] − a2·x[n−2] + g: (1 + a2) / ((1 − a2)·((1 + a2)² − a1²))
  const variance = (1 + a2) / ((1 - a2) * ((1 + a2) * (1 + a2) - a1 * a1));
  return { a1, a2, scale: rmsUv / Math.sqrt(variance) };
}
