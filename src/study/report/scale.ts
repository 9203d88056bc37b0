import { exp, log } from '../../core/elementary.ts';

/** Turns values into places along an axis, and knows which values to write there. */
export interface AxisScale {
  at(value: number): number;
  ticks: number[];
}

/**
 * Makes the scale of an axis around values.
 *
 * @param places - where the axis begins and ends, pixels   @param isLog - for values > 0 only
 */
export function axisScale(values: readonly number[], places: [number, number], isLog: boolean): AxisScale {
  const known = values.filter((value) => Number.isFinite(value) && (!isLog || value > 0));
  let low = known.length > 0 ? Math.min(...known) : isLog ? 1 : 0;
  let high = known.length > 0 ? Math.max(...known) : low + 1;
  if (isLog) {
    const margin = Math.max(0.05 * log(high / low), 0.02);
    low *= exp(-margin);
    high *= exp(margin);
  } else {
    const margin = high > low ? 0.06 * (high - low) : Math.max(0.5, 0.1 * Math.abs(high));
    low -= margin;
    high += margin;
  }
  const map = isLog ? log : (value: number) => value;
  const [from, to] = [map(low), map(high)];
  const at = (value: number) => places[0] + ((map(value) - from) / (to - from)) * (places[1] - places[0]);
  return { at, ticks: isLog ? logTicks(low, high) : linearTicks(low, high, 5) };
}

function linearTicks(low: number, high: number, about: number): number[] {
  const rough = (high - low) / about;
  let unit = 1;
  while (unit > rough) unit /= 10;
  while (unit * 10 <= rough) unit *= 10;
  const step = unit * (rough / unit >= 5 ? 5 : rough / unit >= 2 ? 2 : 1);
  const ticks: number[] = [];
  for (let k = Math.ceil(low / step); k * step <= high; k++) ticks.push(Number((k * step).toPrecision(10)));
  return ticks;
}

/** 1, 2 and 5 times powers of ten; all steps of a linear scale where less than half a decade is shown. */
function logTicks(low: number, high: number): number[] {
  if (high / low < 3) return linearTicks(low, high, 5).filter((tick) => tick > 0);
  const ticks: number[] = [];
  let decade = 1;
  while (decade > low) decade /= 10;
  while (decade * 10 <= low) decade *= 10;
  const factors = high / low > 1000 ? [1] : high / low > 60 ? [1, 3] : [1, 2, 5];
  for (; decade <= high; decade *= 10) {
    for (const factor of factors) {
      const tick = Number((decade * factor).toPrecision(6));
      if (tick >= low && tick <= high) ticks.push(tick);
    }
  }
  return ticks;
}

/** A number with three digits that count, without a needless exponent. */
export function numberText(value: number): string {
  if (!Number.isFinite(value)) return Number.isNaN(value) ? '–' : value > 0 ? '∞' : '−∞';
  const size = Math.abs(value);
  const text =
    size !== 0 && (size < 1e-4 || size >= 1e6) ? value.toExponential(1) : String(Number(value.toPrecision(3)));
  return text.replace('-', '−');
}
