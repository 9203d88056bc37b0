import { exp, PI } from '../elementary.ts';
import { fillGaussian, nextExponential, nextUniform, type Stream } from '../random/stream.ts';

/** The unit-variance noise that every muscle burst is cut from. */
export interface MuscleCarrier {
  /** Writes the next `count` numbers to `out[0 …)`. */
  fill(out: Float64Array, count: number): void;
  /** Forgets the past, so that a new burst starts from rest. */
  reset(): void;
}

/**
 * Makes noise with the spectrum of surface muscle activity and variance 1.
 *
 *     S(f) ∝ (f/f_l)² / [ (1 + (f/f_l)²)·(1 + (f/f_h)²)² ]
 *
 * A first-order high-pass at f_l and two first-order low-passes at f_h. The variance is set from the sum of the
 * squared impulse response. What is filtered is Gaussian for a muscle of countless units, as an electrode on the skin
 * sees it; or single firings at Poisson moments, of either sign, as a needle in few fibres sees them: the same
 * spectrum and variance, and excess kurtosis ∝ 1/units (Campbell's theorem).
 *
 * @param lowHz - f_l, > 0   @param highHz - f_h, below half the sample rate
 * @param unitsPerS - firings per second that are seen one by one; 0: countless
 */
export function muscleCarrier(
  draws: Stream,
  lowHz: number,
  highHz: number,
  sampleRateHz: number,
  unitsPerS = 0,
): MuscleCarrier {
  const keepHigh = exp((-2 * PI * highHz) / sampleRateHz);
  const keepLow = exp((-2 * PI * lowHz) / sampleRateHz);
  const state = new Float64Array(3);

  /** Runs the filter over the buffer in place. */
  function shape(out: Float64Array, count: number, scale: number): void {
    let first = state[0];
    let second = state[1];
    let slow = state[2];
    for (let i = 0; i < count; i++) {
      first = keepHigh * first + (1 - keepHigh) * out[i];
      second = keepHigh * second + (1 - keepHigh) * first;
      slow = keepLow * slow + (1 - keepLow) * second;
      out[i] = scale * (second - slow);
    }
    state[0] = first;
    state[1] = second;
    state[2] = slow;
  }

  const impulse = new Float64Array(Math.ceil((6 * sampleRateHz) / lowHz));
  impulse[0] = 1;
  shape(impulse, impulse.length, 1);
  state.fill(0);
  let power = 0;
  for (let i = 0; i < impulse.length; i++) power += impulse[i] * impulse[i];
  const scale = 1 / Math.sqrt(power);

  const fillDraws =
    unitsPerS > 0
      ? singleFirings(draws, sampleRateHz / unitsPerS)
      : (out: Float64Array, count: number) => fillGaussian(draws, out, count);

  return {
    fill(out, count) {
      fillDraws(out, count);
      shape(out, count, scale);
    },
    reset() {
      state.fill(0);
    },
  };
}

/** Impulses of variance 1 a sample: Poisson, `samplesPerFiring` apart on average, of either sign. Two draws a firing. */
function singleFirings(draws: Stream, samplesPerFiring: number): (out: Float64Array, count: number) => void {
  const size = Math.sqrt(samplesPerFiring);
  let place = 0; // of the last firing within its sample, 0 … 1
  let wait = 0; // whole samples from the next one to be written to the next firing
  function drawNext(): void {
    const at = place + samplesPerFiring * nextExponential(draws); // from the last firing: blocks leave no trace in it
    wait += Math.floor(at);
    place = at - Math.floor(at);
  }
  drawNext();
  return (out, count) => {
    out.fill(0, 0, count);
    while (wait < count) {
      out[wait] += nextUniform(draws) < 0.5 ? size : -size;
      drawNext();
    }
    wait -= count;
  };
}
