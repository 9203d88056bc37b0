const SUPPLY_UV = 5e6; // ±5 V at the output of the first stage: model value

/**
 * Tells the gain that belongs to an input range: the stage runs out of voltage at ±5 V.
 *
 *     G = 5 V / range
 *
 * @param rangeUv - largest input, ±µV, > 0   @returns ×   @throws {RangeError} if the range is not above 0
 * @example gainOf(50) // 100000
 */
export function gainOf(rangeUv: number): number {
  if (!(rangeUv > 0)) throw new RangeError(`gainOf: rangeUv must be > 0, got ${rangeUv}`);
  return SUPPLY_UV / rangeUv;
}
