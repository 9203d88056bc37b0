/**
 * Finds when a noise curve has come down to the target for good.
 *
 *     T(θ) = the first checkpoint from which on the noise stays ≤ θ
 *
 * @param noise - residual noise at each checkpoint, any unit; NaN counts as not there yet
 * @param target - θ, same unit   @returns number of the checkpoint; −1 for never
 * @example timeToTarget([90, 35, 50, 38, 30], 40) // 3
 */
export function timeToTarget(noise: ArrayLike<number>, target: number): number {
  let first = -1;
  for (let j = noise.length - 1; j >= 0; j--) {
    if (!(noise[j] <= target)) break;
    first = j;
  }
  return first;
}
