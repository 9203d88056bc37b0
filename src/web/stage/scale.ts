/** Maps a quantity to pixels along an axis. */
export interface Scale {
  (value: number): number;
  from: number;
  to: number;
}

/** A linear axis: `from` lies at pixel `low`, `to` at pixel `high`. */
export function linearScale(from: number, to: number, low: number, high: number): Scale {
  const factor = (high - low) / (to - from);
  return Object.assign((value: number) => low + (value - from) * factor, { from, to });
}

/** A logarithmic axis; values at or below 0 land on the low end. */
export function logScale(from: number, to: number, low: number, high: number): Scale {
  const factor = (high - low) / Math.log(to / from);
  return Object.assign((value: number) => low + Math.log(Math.max(value, from * 1e-6) / from) * factor, { from, to });
}

/** Round ticks (1, 2, 5 times a power of ten) of a linear axis, at most `count` of them. */
export function linearTicks(from: number, to: number, count: number): number[] {
  const rough = (to - from) / Math.max(1, count);
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = power * ([1, 2, 5, 10].find((factor) => factor * power >= rough) ?? 10);
  const ticks: number[] = [];
  for (let k = Math.ceil(from / step); k * step <= to * (1 + 1e-9); k++) ticks.push(k * step);
  return ticks;
}

/** Ticks at 1, 2 and 5 times the powers of ten of a logarithmic axis. */
export function logTicks(from: number, to: number): number[] {
  const ticks: number[] = [];
  for (let power = Math.floor(Math.log10(from)); 10 ** power <= to; power++) {
    for (const factor of [1, 2, 5]) {
      const tick = Number((factor * 10 ** power).toPrecision(12));
      if (tick >= from * (1 - 1e-9) && tick <= to * (1 + 1e-9)) ticks.push(tick);
    }
  }
  return ticks;
}
