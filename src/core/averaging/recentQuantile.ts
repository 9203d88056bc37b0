/** Quantiles of the last few values of a sequence. */
export interface RecentQuantile {
  add(value: number): void;
  /** Value at the given share of the sorted memory, 0 … 1; NaN if it is empty. */
  read(share: number): number;
  count(): number;
}

/**
 * Keeps the last `memory` values in order of size, so that any quantile can be read at once.
 *
 * @throws {RangeError} if memory is not a whole number >= 1
 * @example const q = recentQuantile(3); [5, 1, 9, 2].forEach(q.add); q.read(0.5) // 2: of 1, 9 and 2
 */
export function recentQuantile(memory: number): RecentQuantile {
  if (!(memory >= 1 && Number.isInteger(memory))) {
    throw new RangeError(`recentQuantile: memory must be a whole number >= 1, got ${memory}`);
  }
  const arrived = new Float64Array(memory); // ring, in order of arrival
  const sorted = new Float64Array(memory);
  let count = 0;
  let next = 0;

  /** First place in the sorted part whose value is at or above the given one. */
  function place(value: number): number {
    let low = 0;
    let high = count;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (sorted[middle] < value) low = middle + 1;
      else high = middle;
    }
    return low;
  }

  return {
    add(value) {
      if (Number.isNaN(value)) return; // no place in an order
      if (count === memory) {
        const at = place(arrived[next]);
        sorted.copyWithin(at, at + 1, count);
        count--;
      }
      const at = place(value);
      sorted.copyWithin(at + 1, at, count);
      sorted[at] = value;
      count++;
      arrived[next] = value;
      next = (next + 1) % memory;
    },
    read: (share) => (count > 0 ? sorted[Math.round(share * (count - 1))] : NaN),
    count: () => count,
  };
}
