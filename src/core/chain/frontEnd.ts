import type { Scenario } from '../scenario/schema.ts';
import { amplifierStage } from './amplifierStage.ts';
import { overRange } from './overRange.ts';

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

export const MIN_RUN = 3; // codes in a row at the rail make an over-range: common practice, no source

/**
 * Makes the overload-prone part of the chain: amplifier stage (`amplifierStage.ts`), then converter.
 *
 *     code = round(v_o / LSB),  LSB = 2·range / 2^bits
 *
 * Everything is referred to the input, so gain is the choice of range. Three codes in a row at the rail raise the
 * over-range flag until guardMs after.
 */
export function frontEnd(scenario: Scenario): FrontEnd {
  const { rangeUv } = scenario.amplifier;
  const { sampleRateHz, guardMs } = scenario.converter;
  const guard = Math.round((guardMs * sampleRateHz) / 1000);
  const codes = codesOf(scenario);
  const lsbUv = rangeUv / codes;
  const perLsb = 1 / lsbUv;

  // Below this the stage is linear and the code is not near the rail.
  const calmUv = (codes - 3) * lsbUv;
  const stage = amplifierStage(scenario);
  const flags = overRange();
  let runCount = 0; // codes in a row at the rail

  /** Any sample: runs the stage, converts, watches for codes at the rail. Returns the converted output. */
  function convert(inputUv: number, sample: number): number {
    const rounded = Math.floor(stage.next(inputUv) * perLsb + 0.5);
    const code = Math.max(-codes, Math.min(codes - 1, rounded));
    if (code >= codes - 2 || code <= 1 - codes) {
      runCount++;
      if (runCount >= MIN_RUN) flags.add(sample - runCount + 1, sample + 1 + guard);
    } else {
      runCount = 0;
    }
    return code * lsbUv;
  }

  const conversion = Float64Array.of(calmUv, perLsb, lsbUv);

  function passCalm(): void {
    stage.passCalm();
    runCount = 0;
  }

  return {
    conversion,
    isCalm: stage.isCalm,
    passCalm,
    run(signalUv, start, count) {
      let i = 0;
      while (i < count) {
        if (stage.isCalm()) {
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
    flagged: flags.touches,
    forgetBefore: flags.forgetBefore,
  };
}

/** Codes above zero of the converter: 2^(bits − 1). */
export function codesOf({ converter }: Pick<Scenario, 'converter'>): number {
  let codes = 1;
  for (let k = 1; k < converter.bits; k++) codes *= 2;
  return codes;
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
