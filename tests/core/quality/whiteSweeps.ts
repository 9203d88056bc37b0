import { fillGaussian, stream } from '../../../src/core/random/stream.ts';

/** Sweeps of white noise, µV rms, with a response added; `size` may change from sweep to sweep. */
export function whiteSweeps(
  seed: string,
  count: number,
  length: number,
  size: (k: number) => number,
  responseUv: (i: number) => number = () => 0,
): Float64Array[] {
  const draws = stream(seed, 'test/white');
  return Array.from({ length: count }, (_, k) => {
    const sweepUv = new Float64Array(length);
    fillGaussian(draws, sweepUv, length);
    for (let i = 0; i < length; i++) sweepUv[i] = size(k) * sweepUv[i] + responseUv(i);
    return sweepUv;
  });
}
