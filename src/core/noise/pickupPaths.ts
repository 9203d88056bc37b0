import { contactOf, type ElectrodeName, impedanceAt, inputOf } from '../chain/contact.ts';
import { connectionsOf } from '../chain/leadConnections.ts';
import { type Complex, minus, over, plus, sizeOf, times } from '../complex.ts';
import { PI, power } from '../elementary.ts';
import type { Scenario } from '../scenario/schema.ts';
import { CHANNEL_COUNT } from './noiseSource.ts';

/** The ways by which the supply gets into a channel; each has a phase of its own. */
export const pickupPathIds = ['imbalance', 'rejection', 'lead', 'loop', 'lamp'] as const;
export type PickupPathId = (typeof pickupPathIds)[number];

/** Harmonics that the model knows; a room may leave the upper ones out. */
export const PICKUP_HARMONICS = 12;

const REJECTION_CORNER_HZ = 200; // model value: rejection falls by 6 dB per octave above
const PREAMP_LEAD_FACTOR = 0.05; // model value: nearly no wire is left to pick up current …
const PREAMP_LOOP_FACTOR = 0.05; // … nor a loop: 0.06 m² → 0.003 m²

/** Pickup of one harmonic in each channel, µV peak, by path; as phasors whose phase is that of the source. */
export type PathPhasors = Record<PickupPathId, readonly [Complex, Complex]>;

const noneLost = () => false;

/**
 * Works out what one harmonic of the supply makes in each channel, path by path.
 *
 *     V_cm      = I_body·Z_g,   Z_g = Z_ground ∥ Z_in/3 (the amplifier ground is reached through the inputs too)
 *     imbalance = V_cm·[Z₊/(Z₊ + Z_in) − Z₋/(Z₋ + Z_in)]                      ≈ V_cm·ΔZ/Z_in
 *     rejection = V_cm·10^(−CMRR/20)·max(1, f/200 Hz)
 *     lead      = I_lead·length·shield·[Z₊ ∥ Z_in − Z₋ ∥ Z_in]                ≈ I_lead·length·ΔZ
 *     loop      = 2πf·B·area,   lamp the same at twice the line frequency
 *
 * The exact dividers also hold for an open lead, where the approximations beside them break down. Assumes the same
 * current in every lead and a body without resistance of its own.
 *
 * @param harmonic - 1, 2, 3 …   @param lost - says which contact is nearly lost at the time
 * @returns µV peak
 */
export function pathPhasors(
  scenario: Scenario,
  harmonic: number,
  lost: (electrode: ElectrodeName) => boolean = noneLost,
): PathPhasors {
  const { room, leads, amplifier, mains } = scenario;
  const hz = harmonic * mains.lineHz;
  const input = impedanceAt(inputOf(scenario), hz);
  const contact = (electrode: ElectrodeName) => impedanceAt(contactOf(scenario, electrode, lost(electrode)), hz);
  const { plus: plusInput, minus: minusInputs, sign } = connectionsOf(scenario);
  const ratio = (ratios: readonly number[]) => ratios[harmonic - 1] ?? 0;

  const isolationUa = amplifier.supply === 'mains' ? amplifier.isolationCurrentUa : 0;
  const bodyUa = (room.bodyCurrentUa + isolationUa) * ratio(room.bodyHarmonicRatios);
  const commonModeUv = scaled(parallel(contact('ground'), scaled(input, 1 / 3)), bodyUa);
  const rejection = power(10, -amplifier.commonModeRejectionDb / 20) * Math.max(1, hz / REJECTION_CORNER_HZ);
  const { lengthM, shieldFactor, loopM2PerM, preampAtElectrode } = leads;
  const leadUa =
    (room.leadCurrentNaPerM / 1000) *
    ratio(room.leadHarmonicRatios) *
    lengthM *
    shieldFactor *
    (preampAtElectrode ? PREAMP_LEAD_FACTOR : 1);
  const loopM2 = lengthM * loopM2PerM * (preampAtElectrode ? PREAMP_LOOP_FACTOR : 1);
  const inducedUv = 2 * PI * hz * loopM2; // per µT

  const divided = (electrode: ElectrodeName) => {
    const impedance = contact(electrode);
    return over(impedance, plus(impedance, input));
  };
  const between = (at: (electrode: ElectrodeName) => Complex, minusInput: ElectrodeName) =>
    scaled(minus(at(plusInput), at(minusInput)), sign);
  const each = (phasor: (minusInput: ElectrodeName) => Complex): [Complex, Complex] => [
    phasor(minusInputs[0]),
    phasor(minusInputs[1]),
  ];
  const real = (uv: number) => each(() => ({ re: sign * uv, im: 0 }));
  return {
    imbalance: each((minusInput) => times(commonModeUv, between(divided, minusInput))),
    rejection: each(() => scaled(commonModeUv, sign * rejection)),
    lead: each((minusInput) =>
      scaled(
        between((electrode) => parallel(contact(electrode), input), minusInput),
        leadUa,
      ),
    ),
    loop: real(inducedUv * room.fieldUt * ratio(room.fieldHarmonicRatios)),
    lamp: real(harmonic === 2 ? inducedUv * room.lampFieldUt : 0),
  };
}

/** The size of one path, for pictures and tables. */
export interface PickupPath {
  path: PickupPathId;
  label: string;
  /** µV peak by channel (ipsilateral, contralateral) and harmonic (index 0: the line frequency). */
  harmonicsUv: number[][];
  /** µV peak by channel: root of the summed squares of the harmonics. */
  totalUv: number[];
}

const LABELS: Record<PickupPathId, string> = {
  imbalance: 'Body current, unequal contacts',
  rejection: 'Body current, finite common-mode rejection',
  lead: 'Current into the leads, unequal contacts',
  loop: 'Magnetic field through the loop of the leads',
  lamp: 'Field of lamps through the same loop',
};

/**
 * Tells how large the pickup from the supply is, by path, channel and harmonic: what the signal source `pickup` plays.
 *
 * @returns one entry per path; phases differ from path to path, so sizes of different paths do not simply add
 * @example pickupByPath(resolveScenario({ room: { fieldUt: 1 } }))[3].harmonicsUv[0][0] // 18.8: 1 µT through 0.06 m²
 */
export function pickupByPath(scenario: Scenario): PickupPath[] {
  const harmonics = Array.from({ length: PICKUP_HARMONICS }, (_, h) => pathPhasors(scenario, h + 1));
  return pickupPathIds.map((path) => {
    const harmonicsUv = Array.from({ length: CHANNEL_COUNT }, (_, channel) =>
      harmonics.map((phasors) => sizeOf(phasors[path][channel])),
    );
    return {
      path,
      label: LABELS[path],
      harmonicsUv,
      totalUv: harmonicsUv.map((sizesUv) => Math.sqrt(sizesUv.reduce((sum, uv) => sum + uv * uv, 0))),
    };
  });
}

/** Two impedances side by side. */
function parallel(a: Complex, b: Complex): Complex {
  return over(times(a, b), plus(a, b));
}

function scaled({ re, im }: Complex, factor: number): Complex {
  return { re: re * factor, im: im * factor };
}
