import type { Ink } from './ink.ts';
import type { InkColour } from './palette.ts';
import type { Scale } from './scale.ts';

const xs = new Float64Array(4096);
const ys = new Float64Array(4096);

/**
 * Draws samples across [left, right]. More than two samples per pixel become a smallest-to-largest column each, so that
 * no peak is lost; values beyond the axis end on its edge.
 */
export function drawTrace(
  ink: Ink,
  samples: ArrayLike<number>,
  left: number,
  right: number,
  y: Scale,
  width: number,
  colour: InkColour,
): void {
  const count = samples.length;
  const top = Math.min(y(y.from), y(y.to));
  const bottom = Math.max(y(y.from), y(y.to));
  const clamped = (value: number) => Math.min(bottom, Math.max(top, y(value)));
  const columns = Math.max(1, Math.floor(right - left));
  if (count <= 2 * columns && count <= xs.length) {
    for (let i = 0; i < count; i++) {
      xs[i] = left + ((right - left) * (i + 0.5)) / count;
      ys[i] = clamped(samples[i]); // NaN stays NaN, and leaves a gap
    }
    ink.stroke(xs, ys, count, width, colour);
    return;
  }
  for (let column = 0; column < columns; column++) {
    const from = Math.floor((column * count) / columns);
    const to = Math.min(count, Math.floor(((column + 1) * count) / columns) + 1); // one over: columns touch
    let low = Infinity;
    let high = -Infinity;
    for (let i = from; i < to; i++) {
      if (samples[i] < low) low = samples[i];
      if (samples[i] > high) high = samples[i];
    }
    if (!(low <= high)) continue;
    const yLow = clamped(low);
    const yHigh = clamped(high);
    const middle = (yLow + yHigh) / 2;
    const half = Math.max(width / 2, Math.abs(yLow - yHigh) / 2);
    ink.fill(left + column, middle - half, left + column + 1, middle + half, colour);
  }
}
