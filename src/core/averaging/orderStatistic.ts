/**
 * Moves the value of rank `rank` to its place: nothing before it is larger, nothing after it is smaller.
 *
 * C. A. R. Hoare's selection (Commun. ACM 4(7), 1961), with the median of three as pivot: linear time on average.
 *
 * @param values - changed in place; no NaN   @param rank - from `from` to `to` − 1
 * @returns the value   @example selectRank(Float64Array.of(5, 1, 3), 1, 0, 3) // 3
 */
export function selectRank(values: Float64Array, rank: number, from: number, to: number): number {
  let left = from;
  let right = to - 1;
  while (left < right) {
    const a = values[left];
    const b = values[(left + right) >> 1];
    const c = values[right];
    const pivot = a < b ? (b < c ? b : a < c ? c : a) : a < c ? a : b < c ? c : b;
    let i = left;
    let j = right;
    while (i <= j) {
      while (values[i] < pivot) i++;
      while (values[j] > pivot) j--;
      if (i <= j) {
        const kept = values[i];
        values[i] = values[j];
        values[j] = kept;
        i++;
        j--;
      }
    }
    if (rank <= j) right = j;
    else if (rank >= i) left = i;
    else break;
  }
  return values[rank];
}

/**
 * Median of the first `count` values, which are moved about.
 * @returns the middle value, or the mean of the two in the middle; NaN for none
 * @example medianOf(Float64Array.of(4, 1, 3, 2), 4) // 2.5
 */
export function medianOf(values: Float64Array, count: number): number {
  if (count === 0) return NaN;
  const middle = count >> 1;
  const upper = selectRank(values, middle, 0, count);
  if (count % 2 === 1) return upper;
  let lower = values[0];
  for (let k = 1; k < middle; k++) if (values[k] > lower) lower = values[k];
  return 0.5 * (lower + upper);
}
