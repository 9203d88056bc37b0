import { type FilterCascade, runFirstOrder, type Section } from './filters.ts';

/** The input coupling of both channels, before the amplifier stage. */
export interface CoupledInput extends FilterCascade {
  /**
   * Couples and converts in one loop, in place, as long as both channels stay below the calm limit.
   * @param conversion - of the front end   @returns the first sample that has still to be coupled, or `count`
   */
  runCalm(conversion: Float64Array, signal0: Float64Array, signal1: Float64Array, count: number): number;
}

/** Makes a first-order input coupling that can convert on the way: 1.0 against 1.5 ns a sample in two passes. */
export function coupledInput(coupling: Section): CoupledInput {
  // Laid out as `runFirstOrder` reads them.
  const coefficients = Float64Array.of(coupling.b0, coupling.b1 / coupling.b0, 0, coupling.a1, 0);
  const state = new Float64Array(4);
  return {
    run: (signal0, signal1, count) => runFirstOrder(coefficients, state, signal0, signal1, count),
    runCalm: (conversion, signal0, signal1, count) =>
      coupleAndConvert(coefficients, state, conversion, signal0, signal1, count),
  };
}

function coupleAndConvert(
  coefficients: Float64Array,
  state: Float64Array,
  conversion: Float64Array,
  signal0: Float64Array,
  signal1: Float64Array,
  count: number,
): number {
  const gain = coefficients[0];
  const b1 = coefficients[1];
  const a1 = coefficients[3];
  const calmUv = conversion[0];
  const perLsb = conversion[1];
  const lsbUv = conversion[2];
  let last0 = state[0];
  let last1 = state[2];
  let i = 0;
  for (; i < count; i++) {
    const now0 = gain * signal0[i] - a1 * last0;
    const now1 = gain * signal1[i] - a1 * last1;
    const coupled0 = now0 + b1 * last0;
    const coupled1 = now1 + b1 * last1;
    if (!(Math.abs(coupled0) < calmUv && Math.abs(coupled1) < calmUv)) break;
    signal0[i] = lsbUv * Math.floor(coupled0 * perLsb + 0.5);
    signal1[i] = lsbUv * Math.floor(coupled1 * perLsb + 0.5);
    last0 = now0;
    last1 = now1;
  }
  state[0] = last0;
  state[2] = last1;
  return i;
}
