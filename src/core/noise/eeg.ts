import { cosineOfCycles, exp, PI } from '../elementary.ts';
import { ornsteinUhlenbeck } from '../random/ornsteinUhlenbeck.ts';
import { fillGaussian, stream } from '../random/stream.ts';
import { type NoiseSource, SLOW_STEP_SAMPLES } from './noiseSource.ts';

/**
 * Background EEG: slow activity that falls by 6 dB per octave, a flat floor, alpha rhythm, and slow swells.
 *
 *     S(f) = a₁/(1 + (f/f₁)²) + alpha peak at 10 Hz + floor²      µV²/Hz, one-sided;  slow rms² = a₁·f₁·π/2
 *
 * Slow part and floor are drawn together as one ARMA(1,1) process with the same spectrum: one draw a sample. The two
 * channels share part of each; the swell (log-gain, Ornstein–Uhlenbeck) is common to both. Gaussian otherwise.
 */
export const eeg: NoiseSource = {
  id: 'eeg',
  label: 'EEG background',
  create(scenario, seed) {
    const { slowUv, cornerHz, alphaUv, floorNvPerRtHz, gainLogSd, gainMemoryS, channelCorrelation } = scenario.eeg;
    const { sampleRateHz } = scenario.converter;
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
    const shared = channelCorrelation;
    const own = Math.sqrt(1 - shared * shared);
    let gain = 1;
    let white0 = new Float64Array(0);
    let white1 = new Float64Array(0);
    let alphaWhite0 = new Float64Array(0);
    let alphaWhite1 = new Float64Array(0);
    const state = new Float64Array(4); // AR(1) value and last draw, of each channel
    const alphaState = new Float64Array(4); // last two values, of each channel

    /** Filters draws [from, to) of the white buffers and adds them at the present gain. */
    function addBackground(channelsUv: readonly Float64Array[], from: number, to: number): void {
      const { scale, ar, ma } = background;
      const [out0, out1] = channelsUv;
      let y0 = state[0];
      let y1 = state[1];
      let last0 = state[2];
      let last1 = state[3];
      for (let i = from; i < to; i++) {
        const fresh0 = scale * white0[i];
        const fresh1 = scale * (shared * white0[i] + own * white1[i]);
        y0 = ar * y0 + fresh0 + ma * last0;
        y1 = ar * y1 + fresh1 + ma * last1;
        last0 = fresh0;
        last1 = fresh1;
        out0[i] += gain * y0;
        out1[i] += gain * y1;
      }
      state[0] = y0;
      state[1] = y1;
      state[2] = last0;
      state[3] = last1;
    }

    function addAlpha(channelsUv: readonly Float64Array[], from: number, to: number): void {
      const { a1, a2, scale } = alpha as Resonance;
      for (let c = 0; c < 2; c++) {
        const out = channelsUv[c];
        const fromShared = c === 0 ? 1 : shared;
        const fromOwn = c === 0 ? 0 : own;
        let last = alphaState[2 * c];
        let lastButOne = alphaState[2 * c + 1];
        for (let i = from; i < to; i++) {
          const value = a1 * last - a2 * lastButOne + scale * (fromShared * alphaWhite0[i] + fromOwn * alphaWhite1[i]);
          lastButOne = last;
          last = value;
          out[i] += gain * value;
        }
        alphaState[2 * c] = last;
        alphaState[2 * c + 1] = lastButOne;
      }
    }

    return {
      addUv(channelsUv, start, count) {
        if (white0.length < count) {
          white0 = new Float64Array(count);
          white1 = new Float64Array(count);
          if (alpha) {
            alphaWhite0 = new Float64Array(count);
            alphaWhite1 = new Float64Array(count);
          }
        }
        fillGaussian(draws[0], white0, count);
        fillGaussian(draws[1], white1, count);
        if (alpha) {
          fillGaussian(alphaDraws[0], alphaWhite0, count);
          fillGaussian(alphaDraws[1], alphaWhite1, count);
        }
        for (let from = 0; from < count; ) {
          const phase = (start + from) % SLOW_STEP_SAMPLES;
          if (phase === 0) gain = exp(swell.next());
          const to = Math.min(count, from + SLOW_STEP_SAMPLES - phase);
          addBackground(channelsUv, from, to);
          if (alpha) addAlpha(channelsUv, from, to);
          from = to;
        }
      },
    };
  },
};

/**
 * Finds the ARMA(1,1) process whose spectrum is that of an AR(1) process plus independent white noise.
 *
 * AR(1): variance slow², pole a = exp(−2π·f₁/fs), innovation variance q = slow²(1 − a²). Adding white noise w², the
 * moving-average part must have the autocovariance c₀ = q + w²(1 + a²), c₁ = −a·w². Its invertible solution is
 * m = c₁/s², s² = (c₀ + √(c₀² − 4c₁²))/2. Source: spectral factorisation, any time-series textbook.
 */
function slowPlusFloor(slowUv: number, floorUv: number, cornerHz: number, sampleRateHz: number) {
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
