import type { Scenario } from '../scenario/schema.ts';
import { contactOf, type ElectrodeName, inputOf } from './contact.ts';

/** Which electrode ends up at which input: channel c records plus − minus[c], upside down if sign is −1. */
export interface Connections {
  plus: ElectrodeName;
  minus: readonly [ElectrodeName, ElectrodeName];
  sign: 1 | -1;
}

/** Follows the leads from the amplifier back to the electrodes, exchanges included. */
export function connectionsOf({ leads }: Pick<Scenario, 'leads'>): Connections {
  const sign = leads.reversed ? -1 : 1;
  switch (leads.swapped) {
    case 'none':
      return { plus: 'common', minus: ['ipsilateral', 'contralateral'], sign };
    case 'sides':
      return { plus: 'common', minus: ['contralateral', 'ipsilateral'], sign };
    case 'common-ipsilateral':
      return { plus: 'ipsilateral', minus: ['common', 'contralateral'], sign };
    case 'common-contralateral':
      return { plus: 'contralateral', minus: ['ipsilateral', 'common'], sign };
    default:
      throw new RangeError(`connectionsOf: unknown exchange of leads, got ${leads.swapped satisfies never}`);
  }
}

/** Turns what the body offers between well connected electrodes into what the inputs are given, in place. */
export interface LeadMixing {
  mix(signal0: Float64Array, signal1: Float64Array, from: number, to: number): void;
}

/**
 * Works out what exchanged, reversed and open leads make of the potentials of the body.
 *
 *     v_common = a·(x₀ + x₁)/2,   v_ipsi = v_common − x₀,   v_contra = v_common − x₁
 *     y_c = ±[g·v_plus − g·v_minus,c]
 *
 * x is what the two channels would record. g is 1 for a contact that holds, and C_open/(C_open + C_input) for a lead
 * that hangs in the air. a is the part of the difference that the common electrode holds: one half on the head, none for
 * a canal, neck or eye electrode, whose partner is silent (our choice). It matters only where a lead is open.
 *
 * @returns null where everything is as it should be, so that nothing has to be done
 */
export function leadMixing(scenario: Scenario): LeadMixing | null {
  const { plus, minus, sign } = connectionsOf(scenario);
  const inputs = [plus, ...minus];
  const { swapped, reversed } = scenario.leads;
  if (swapped === 'none' && !reversed && !inputs.some((electrode) => scenario.electrodes[electrode].open)) return null;

  const { site } = scenario.montage;
  const half = site === 'mastoid' || site === 'earlobe' ? 0.25 : 0; // a/2
  const weights: Record<ElectrodeName, readonly [number, number]> = {
    common: [half, half],
    ipsilateral: [half - 1, half],
    contralateral: [half, half - 1],
    ground: [0, 0],
  };
  const input = inputOf(scenario);
  const held = (electrode: ElectrodeName) => {
    if (!scenario.electrodes[electrode].open) return 1;
    const { parallelFarad } = contactOf(scenario, electrode);
    return parallelFarad / (parallelFarad + input.parallelFarad);
  };
  const matrix = minus.flatMap((other) =>
    [0, 1].map((k) => sign * (held(plus) * weights[plus][k] - held(other) * weights[other][k])),
  );
  return {
    mix(signal0, signal1, from, to) {
      const [m00, m01, m10, m11] = matrix;
      for (let i = from; i < to; i++) {
        const x0 = signal0[i];
        const x1 = signal1[i];
        signal0[i] = m00 * x0 + m01 * x1;
        signal1[i] = m10 * x0 + m11 * x1;
      }
    },
  };
}
