/**
 * Adjusts p values for their number, so that the chance of any false finding among them stays below the level.
 *
 *     p'_(k) = max_{j ≤ k} min(1, (m − j + 1)·p_(j)),   p_(1) ≤ … ≤ p_(m)
 *
 * S. Holm, Scand. J. Statist. 6(2), 1979.
 *
 * @returns adjusted values in the order given   @example holm([0.01, 0.04, 0.03]) // [0.03, 0.06, 0.06]
 */
export function holm(pValues: readonly number[]): number[] {
  const order = pValues.map((_, k) => k).sort((a, b) => pValues[a] - pValues[b]);
  const adjusted = new Array<number>(pValues.length);
  let largest = 0;
  for (const [rank, k] of order.entries()) {
    largest = Math.max(largest, Math.min(1, (pValues.length - rank) * pValues[k]));
    adjusted[k] = largest;
  }
  return adjusted;
}
