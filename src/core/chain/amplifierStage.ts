import { exp } from '../elementary.ts';
import type { Scenario } from '../scenario/schema.ts';

/** The first stage of one channel: what saturates, recovers and blocks. */
export interface AmplifierStage {
  /** Takes one sample, µV referred to the input. Returns what comes out, likewise. */
  next(inputUv: number): number;
  /** True if nothing is left of an overload. */
  isCalm(): boolean;
  /** Samples in a row that the stage has been at the rail, frozen ones included. */
  railedCount(): number;
  /** Says that calm samples within the range went past. */
  passCalm(): void;
}

/**
 * Makes an amplifier stage.
 *
 *     u = v + b;   v_o = u limited to ± range;   db/dt = −b/τ − (u − v_o)/τ
 *
 * While the stage is over-driven, b is pushed the other way; afterwards it leaves a tail of time constant τ. A stage that
 * has sat at the rail longer than blockAfterMs stays frozen there for blockingMs.
 */
export function amplifierStage({ amplifier, converter }: Pick<Scenario, 'amplifier' | 'converter'>): AmplifierStage {
  const { rangeUv, recoveryMs, blockAfterMs, blockingMs } = amplifier;
  const perSample = 1000 / converter.sampleRateHz;
  const fade = exp(-perSample / recoveryMs);
  const push = 1 - fade;
  const blockAfter = Math.max(1, Math.round(blockAfterMs / perSample));
  const blocking = Math.round(blockingMs / perSample);
  let offsetUv = 0; // b
  let railCount = 0; // samples in a row that the stage has been at the rail
  let frozenCount = 0; // samples that the output stays frozen
  let frozenUv = 0;
  return {
    next(inputUv) {
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
    },
    isCalm: () => offsetUv === 0 && frozenCount === 0,
    railedCount: () => railCount + frozenCount,
    passCalm() {
      railCount = 0;
    },
  };
}
