/**
 * Works out each sweep's share in the final average from the decisions in the order in which they were made.
 *
 *     share[k] = weight[k] · Π_{decisions j after k} fade[j],   scaled so that all shares add up to 1
 *
 * @param decisions - index of the sweep, weight and fade   @param sweepCount - sweeps offered
 * @returns one share per sweep; 0 for a sweep that was never decided on; all 0 if none counts
 * @example finalShares([{ index: 0, weight: 1, fade: 1 }, { index: 1, weight: 1, fade: 0.5 }], 2) // [1/3, 2/3]
 */
export function finalShares(
  decisions: readonly { index: number; weight: number; fade: number }[],
  sweepCount: number,
): Float64Array {
  const shares = new Float64Array(sweepCount);
  let kept = 1;
  let sum = 0;
  for (let d = decisions.length - 1; d >= 0; d--) {
    const { index, weight, fade } = decisions[d];
    shares[index] = weight * kept;
    sum += shares[index];
    kept *= fade;
  }
  if (sum > 0) for (let k = 0; k < sweepCount; k++) shares[k] /= sum;
  return shares;
}
