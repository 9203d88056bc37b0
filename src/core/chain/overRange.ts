/** Stretches of a recording that were over-range, guard time included. */
export interface OverRange {
  /** Adds samples [from, to); stretches are added in order of time. */
  add(from: number, to: number): void;
  /** True if any sample of [from, to) lies in a stretch. */
  touches(from: number, to: number): boolean;
  /** Forgets stretches that ended before this sample. */
  forgetBefore(sample: number): void;
}

/** Makes an empty list of over-range stretches; those that meet become one. */
export function overRange(): OverRange {
  const starts: number[] = [];
  const ends: number[] = [];
  return {
    add(from, to) {
      const last = ends.length - 1;
      if (last >= 0 && from <= ends[last]) ends[last] = to;
      else {
        starts.push(from);
        ends.push(to);
      }
    },
    touches(from, to) {
      for (let k = ends.length - 1; k >= 0; k--) if (starts[k] < to && ends[k] > from) return true;
      return false;
    },
    forgetBefore(sample) {
      while (ends.length > 0 && ends[0] < sample) {
        ends.shift();
        starts.shift();
      }
    },
  };
}
