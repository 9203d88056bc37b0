/** Samples between two draws of a slow process; a whole number of ms at no rate in particular: our choice. */
export const SLOW_STEP_SAMPLES = 32;
export const SLOW_STEP_SHIFT = 5; // 2^5 = 32

/** The steps of a slow process that touch the block at hand. */
export interface SlowLevels {
  /** Sample `i` of the block has `levels[(phase + i) >> stepShift]`, where `phase` comes from `advance`. */
  readonly levels: Float64Array;
  /**
   * Draws what samples [start, start + count) need; blocks follow each other without gap.
   * @returns samples of the first step that came before this block: 0 … one less than a step
   */
  advance(start: number, count: number): number;
}

/**
 * Makes the levels of a process that is constant for 2^stepShift samples at a time.
 *
 * The steps belong to the recording, not to the block, so the length of blocks does not change a bit. All steps of a
 * block are drawn together: calls between samples cost more than the draws (`npm run bench`).
 *
 * @param draw - writes the levels of steps [from, to) to the same places of its first argument
 */
export function slowLevels(
  draw: (levels: Float64Array, from: number, to: number) => void,
  stepShift = SLOW_STEP_SHIFT,
): SlowLevels {
  const stepSamples = 1 << stepShift;
  let levels = new Float64Array(2);
  let stepCount = 1; // in the last block; its last step may reach into the next block
  return {
    get levels() {
      return levels;
    },
    advance(start, count) {
      const phase = start % stepSamples;
      const last = levels[stepCount - 1];
      stepCount = Math.ceil((phase + count) / stepSamples);
      if (stepCount > levels.length) levels = new Float64Array(stepCount);
      levels[0] = last;
      draw(levels, phase === 0 ? 0 : 1, stepCount);
      return phase;
    },
  };
}
