import { unzipSync } from 'fflate';
import { butterworth } from '../../src/core/chain/filters.ts';
import { zeroPhase } from '../../src/core/chain/zeroPhase.ts';
import { bandPowers } from '../core/powerSpectrum.ts';
import { centralMoment, median, rms } from '../core/sampleStatistics.ts';

/** What real recordings and generators are compared by. */
export interface Trace {
  samplesUv: Float64Array;
  sampleRateHz: number;
}

/** Band-passes without delay, 12 dB per octave each way and pass, and drops half a second at both ends. */
export function filtered({ samplesUv, sampleRateHz }: Trace, lowHz: number, highHz: number): Trace {
  const sections = [
    ...butterworth('high-pass', 2, lowHz, sampleRateHz),
    ...butterworth('low-pass', 2, highHz, sampleRateHz),
  ];
  const mean = samplesUv.reduce((sum, value) => sum + value, 0) / samplesUv.length;
  const centred = samplesUv.map((value) => value - mean);
  const edge = Math.round(sampleRateHz / 2);
  return { samplesUv: zeroPhase(sections, centred, edge).slice(edge, -edge), sampleRateHz };
}

/** Slope of the power spectrum on double logarithmic axes, by a straight line through octave thirds. */
export function spectralSlope({ samplesUv, sampleRateHz }: Trace, fromHz: number, toHz: number): number {
  const segmentLength = 2 ** Math.floor(Math.log2(2 * sampleRateHz));
  const bands: [number, number][] = [];
  for (let hz = fromHz; hz * 2 ** (1 / 3) <= toHz * 1.01; hz *= 2 ** (1 / 3)) bands.push([hz, hz * 2 ** (1 / 3)]);
  // Median over stretches of the recording: one artefact does not tilt the line.
  const stretchCount = 9;
  const length = Math.floor(samplesUv.length / stretchCount);
  const slopes = Array.from({ length: stretchCount }, (_, k) => {
    const stretch = samplesUv.subarray(k * length, (k + 1) * length);
    const used = 2 ** Math.min(Math.log2(segmentLength), Math.floor(Math.log2(stretch.length / 2)));
    const points = bandPowers(stretch, sampleRateHz, used, bands).map(({ power, fromHz: low, toHz: high }) => [
      Math.log10((low + high) / 2),
      Math.log10(power / (high - low)),
    ]);
    const middleX = points.reduce((sum, [x]) => sum + x, 0) / points.length;
    const middleY = points.reduce((sum, [, y]) => sum + y, 0) / points.length;
    const products = points.reduce((sum, [x, y]) => sum + (x - middleX) * (y - middleY), 0);
    return products / points.reduce((sum, [x]) => sum + (x - middleX) ** 2, 0);
  });
  return median(slopes);
}

/** rms of one block after the other. */
export function blockSizes({ samplesUv, sampleRateHz }: Trace, blockS: number): number[] {
  const length = Math.round(blockS * sampleRateHz);
  return Array.from({ length: Math.floor(samplesUv.length / length) }, (_, k) =>
    rms(samplesUv.subarray(k * length, (k + 1) * length)),
  );
}

/** Fourth moment over squared variance, less the 3 of a normal sample. */
export function excessKurtosis(values: Float64Array): number {
  return centralMoment(values, 4) / centralMoment(values, 2) ** 2 - 3;
}

/** Local peaks above a limit, the largest within `apartS` on either side. */
export function peaksAbove({ samplesUv, sampleRateHz }: Trace, limitUv: number, apartS: number) {
  const apart = Math.round(apartS * sampleRateHz);
  const found: { at: number; uv: number }[] = [];
  for (let i = 1; i + 1 < samplesUv.length; i++) {
    const uv = samplesUv[i];
    if (!(uv > limitUv && uv >= samplesUv[i - 1] && uv > samplesUv[i + 1])) continue;
    const last = found[found.length - 1];
    if (last && i - last.at < apart) {
      if (uv > last.uv) found[found.length - 1] = { at: i, uv };
    } else found.push({ at: i, uv });
  }
  return found;
}

/** Width of a peak at half of its height, ms. `at` may be a sample or two off the top. */
export function halfWidthMs({ samplesUv, sampleRateHz }: Trace, at: number): number {
  const reach = Math.round(0.02 * sampleRateHz);
  let top = at;
  for (let i = Math.max(0, at - reach); i <= Math.min(samplesUv.length - 1, at + reach); i++) {
    if (samplesUv[i] > samplesUv[top]) top = i;
  }
  const half = samplesUv[top] / 2;
  let from = top;
  let to = top;
  while (from > 0 && samplesUv[from] > half) from--;
  while (to < samplesUv.length - 1 && samplesUv[to] > half) to++;
  return (1000 * (to - from - 1)) / sampleRateHz;
}

/** Reads the electrocardiogram: a zipped array of 16-bit numbers; (x − 1024)/200 mV at 360 Hz, as its note says. */
export function readEcg(bytes: Uint8Array): Trace {
  const array = unzipSync(bytes)['ecg.npy'];
  const view = new DataView(array.buffer, array.byteOffset, array.byteLength);
  const headerLength = 10 + view.getUint16(8, true); // magic, version, length of the text that describes the array
  const sampleCount = (array.byteLength - headerLength) / 2;
  const samplesUv = Float64Array.from(
    { length: sampleCount },
    (_, i) => ((view.getUint16(headerLength + 2 * i, true) - 1024) / 200) * 1000,
  );
  return { samplesUv, sampleRateHz: 360 };
}
