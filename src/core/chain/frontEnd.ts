import { exp } from '../elementary.ts';
import type { Scenario } from '../scenario/schema.ts';

/** Amplifier stage and converter of one channel. */
export interface FrontEnd {
  /**
   * Turns coupled input into converted output in place, µV referred to the input.
   * Marks over-range stretches (guard time included) in the flag list.
   */
  run(signalUv: Float64Array, start: number, count: number): void;
  /** Calm limit, codes per µV, µV per code: what `convertCalm` and its like need as long as the stage is calm. */
  readonly conversion: Float64Array;
  /** True if nothing is left of an overload: the next samples below the calm limit are converted and nothing else. */
  isCalm(): boolean;
  /** Says that another loop has converted calm samples. */
  passCalm(): void;
  /** True if any sample of [from, to) is over-range or within the guard time after it. */
  flagged(from: number, to: number): boolean;
  /** Forgets stretches that ended before this sample. */
  forgetBefore(sample: number): void;
}

const MIN_RUN = 3; // codes in a row at the rail make an over-range: common practice, no source

/**
 * Makes the overload-prone part of the chain: gain, saturation, recovery tail, blocking, converter.
 *
 *     u = v + b;   v_o = u limited to ± range;   db/dt = −b/τ − (u − v_o)/τ
 *     code = round(v_o / LSB),  LSB = 2·range / 2^bits
 *
 * Everything is referred to the input, so gain is the choice of range. While the stage is over-driven, b is pushed the
 * other way; afterwards it leaves a tail of time constant τ. A stage that has sat at the rail longer than blockAfterMs
 * stays frozen there for blockingMs. Three codes in a row at the rail raise the over-range flag until guardMs after.
 */
export function frontEnd(scenario: Scenario): FrontEnd {
  const { rangeUv, recoveryMs, blockAfterMs, blockingMs } = scenario.amplifier;
  const { bits, sampleRateHz, guardMs } = scenario.converter;
  const perSample = 1000 / sampleRateHz;
  const fade = exp(-perSample / recoveryMs);
  const push = 1 - fade;
  const blockAfter = Math.max(1, Math.round(blockAfterMs / perSample));
  const blocking = Math.round(blockingMs / perSample);
  const guard = Math.round(guardMs / perSample);
  let codes = 1;
  for (let k = 1; k < bits; k++) codes *= 2; // 2^(bits − 1)
  const lsbUv = rangeUv / codes;
  const perLsb = 1 / lsbUv;

  // Below this the stage is linear and the code is not near the rail.
  const calmUv = (codes - 3) * lsbUv;

  const flagFrom: number[] = [];
  const flagTo: number[] = [];
  let offsetUv = 0; // b
  let railCount = 0; // samples in a row that the stage has been at the rail
  let frozenCount = 0; // samples that the output stays frozen
  let frozenUv = 0;
  let runCount = 0; // codes in a row at the rail

  function flag(from: number, to: number): void {
    const last = flagTo.length - 1;
    if (last >= 0 && from <= flagTo[last]) flagTo[last] = to;
    else {
      flagFrom.push(from);
      flagTo.push(to);
    }
  }

  /** Over-driven, recovering or frozen. Returns the output of the stage. */
  function stage(inputUv: number): number {
    const drivenUv = inputUv + offsetUv;
    const limitedUv = drivenUv > rangeUv ? rangeUv : drivenUv < -rangeUv ? -rangeUv : drivenUv;
    offsetUv = offsetUv * fade - push * (drivenUv - limitedUv);
    if (offsetUv < 1e-9 && offsetUv > -1e-9) offsetUv = 0; // below 10⁻⁶ of any LSB: the stage is calm again
    railCount = limitedUv === drivenUv ? 0 : railCount + 1;
    if (railCount >= blockAfter && blocking > 0) {
      frozenCount = blocking;
      frozenUv = limitedUv;
    } else if (frozenCount > 0) {
      frozenCount--;
      return frozenUv; // even if the input reaches the other rail meanwhile
    }
    return limitedUv;
  }

  /** Any sample: runs the stage, converts, watches for codes at the rail. Returns the converted output. */
  function convert(inputUv: number, sample: number): number {
    const rounded = Math.floor(stage(inputUv) * perLsb + 0.5);
    const code = Math.max(-codes, Math.min(codes - 1, rounded));
    if (code >= codes - 2 || code <= 1 - codes) {
      runCount++;
      if (runCount >= MIN_RUN) flag(sample - runCount + 1, sample + 1 + guard);
    } else {
      runCount = 0;
    }
    return code * lsbUv;
  }

  const conversion = Float64Array.of(calmUv, perLsb, lsbUv);
  const isCalm = () => offsetUv === 0 && frozenCount === 0;

  function passCalm(): void {
    railCount = 0;
    runCount = 0;
  }

  return {
    conversion,
    isCalm,
    passCalm,
    run(signalUv, start, count) {
      let i = 0;
      while (i < count) {
        if (isCalm()) {
          const first = i;
          i = convertCalm(signalUv, i, count, conversion);
          if (i > first) passCalm();
        }
        if (i < count) {
          signalUv[i] = convert(signalUv[i], start + i);
          i++;
        }
      }
    },
    flagged(from, to) {
      for (let k = flagFrom.length - 1; k >= 0; k--) if (flagFrom[k] < to && flagTo[k] > from) return true;
      return false;
    },
    forgetBefore(sample) {
      while (flagTo.length > 0 && flagTo[0] < sample) {
        flagTo.shift();
        flagFrom.shift();
      }
    },
  };
}

/** Converts calm samples from `from` on, in place. Returns the first sample that is not calm, or `to`. */
function convertCalm(signalUv: Float64Array, from: number, to: number, conversion: Float64Array): number {
  const calmUv = conversion[0];
  const perLsb = conversion[1];
  const lsbUv = conversion[2];
  let i = from;
  for (; i < to; i++) {
    const inputUv = signalUv[i];
    if (!(Math.abs(inputUv) < calmUv)) break;
    signalUv[i] = lsbUv * Math.floor(inputUv * perLsb + 0.5);
  }
  return i;
}
