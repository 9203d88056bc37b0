/** What is taken off each sweep before any strategy sees it. */
export type Baseline = 'none' | 'pre-stimulus' | 'linear';

/**
 * Takes the baseline off a sweep, in place.
 *
 * Linear in the sweep, so truth that goes through it stays the truth. 'linear' removes the least-squares straight line
 * through the whole sweep; it takes part of a slow response with it.
 */
export function removeBaseline(sweepUv: Float64Array, kind: Baseline, preSampleCount: number): void {
  if (kind === 'none') return;
  const length = sweepUv.length;
  if (kind === 'pre-stimulus') {
    if (!(preSampleCount > 0))
      throw new RangeError(`removeBaseline: preSampleCount must be > 0, got ${preSampleCount}`);
    let sum = 0;
    for (let i = 0; i < preSampleCount; i++) sum += sweepUv[i];
    const mean = sum / preSampleCount;
    for (let i = 0; i < length; i++) sweepUv[i] -= mean;
    return;
  }
  const middle = (length - 1) / 2;
  let sum = 0;
  let moment = 0;
  let spread = 0;
  for (let i = 0; i < length; i++) {
    sum += sweepUv[i];
    moment += (i - middle) * sweepUv[i];
    spread += (i - middle) * (i - middle);
  }
  const mean = sum / length;
  const slope = spread > 0 ? moment / spread : 0;
  for (let i = 0; i < length; i++) sweepUv[i] -= mean + slope * (i - middle);
}
