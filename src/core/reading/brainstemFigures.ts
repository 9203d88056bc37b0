import { type Figure, figure, ratioFigure } from './figure.ts';
import type { ReadPeak } from './readPeaks.ts';

/**
 * Works out the intervals of a brainstem response and the ratio of its waves: I–III, III–V, I–V in ms, V/I.
 *
 * The noise at two peaks counts as independent: they are milliseconds apart, and the noise of an ABR forgets within one.
 * V/I takes both waves from peak to following trough, with Fieller's interval; it means nothing unless both are clear. Even
 * then a wave I that stands out of the noise by luck reads too large: near threshold V/I is too small.
 *
 * @returns only the figures whose peaks are there
 */
export function brainstemFigures(peaks: readonly ReadPeak[]): Figure[] {
  const find = (name: string) => peaks.find((peak) => peak.name === name);
  const figures: Figure[] = [];
  for (const [first, second] of [
    ['I', 'III'],
    ['III', 'V'],
    ['I', 'V'],
  ]) {
    const a = find(first);
    const b = find(second);
    if (a && b) figures.push(intervalFigure(`${first}–${second}`, a, b));
  }
  const waveI = find('I');
  const waveV = find('V');
  if (waveI && waveV) {
    const ratio = ratioFigure('V/I', waveV.toTroughUv, waveV.toTroughSdUv, waveI.toTroughUv, waveI.toTroughSdUv);
    figures.push({ ...ratio, meaningful: ratio.meaningful && waveI.clear && waveV.clear });
  }
  return figures;
}

/**
 * Makes the interval between two peaks, ms: of one trace, or of wave V between two ears. Means nothing unless both are clear.
 *
 * @example intervalFigure('V left–right', left, right).value // right.latencyMs − left.latencyMs
 */
export function intervalFigure(name: string, first: ReadPeak, second: ReadPeak): Figure {
  const sd = Math.sqrt(first.latencySdMs * first.latencySdMs + second.latencySdMs * second.latencySdMs);
  const made = figure(name, 'ms', second.latencyMs - first.latencyMs, sd);
  return { ...made, meaningful: made.meaningful && first.clear && second.clear };
}
