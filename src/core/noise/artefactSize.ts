import { contactOf, impedanceAt } from '../chain/contact.ts';
import { minus, sizeOf } from '../complex.ts';
import { power } from '../elementary.ts';
import type { Scenario } from '../scenario/schema.ts';
import { usualLevelDbNhl } from '../scenario/sessionDefaults.ts';
import { CHANNEL_COUNT } from './noiseSource.ts';

const BONE_FACTOR = 5; // model value: the vibrator radiates more and sits near the leads
const BONE_DRIVE_DB = 35; // our choice: a vibrator is driven so much harder for the same dB nHL
const RESIDUAL_OHM = 1000; // our choice: two contacts prepared alike still differ by so much
const OPEN_FACTOR = 100; // our choice: a lead that hangs in the air counts as the driest contact
const PREAMP_LEAD_FACTOR = 0.05; // model value, as for the supply: nearly no wire is left
const CLICK_HZ = 1000; // our choice: where most of a click's drive lies

/**
 * Says how large the stimulus artefact is in each channel, for a drive of size 1.
 *
 *     size = peak · 10^((L − L_usual)/20) · (|Z₊ − Z₋| + 1 kΩ)/(the same, well prepared) · shield · preamp
 *
 * A capacitive current, proportional to the drive voltage, flows into both leads and becomes a voltage where the contacts
 * differ. `artefact.peakUv` is its size at the usual level for the kind of response (`sessionDefaults`) with contacts
 * prepared well and bare leads: a level 20 dB higher makes it ten times, a dry contact larger. Impedances at 1 kHz, or
 * at the frequency of a tone. Through the bone × 5, and 35 dB more drive for the same dB nHL. The second channel is
 * × `contralateralGain` before its own contact counts. Momentary losses of contact do not change it.
 *
 * @returns µV peak, ipsilateral and contralateral channel
 * @example artefactPeakUv(resolveScenario({ artefact: { peakUv: 10 } })) // [10, 3]
 */
export function artefactPeakUv(scenario: Scenario): number[] {
  const { artefact, stimulus, leads, response } = scenario;
  const bone = stimulus.transducer === 'bone';
  const driveDb = stimulus.levelDbNhl + (bone ? BONE_DRIVE_DB : 0) - usualLevelDbNhl(response.kind);
  const drive = power(10, driveDb / 20) * (bone ? BONE_FACTOR : 1);
  const reaching = leads.shieldFactor * (leads.preampAtElectrode ? PREAMP_LEAD_FACTOR : 1);
  return Array.from({ length: CHANNEL_COUNT }, (_, channel) => {
    const gain = channel === 0 ? 1 : artefact.contralateralGain;
    const side = channel === 0 ? 'ipsilateral' : 'contralateral';
    return artefact.peakUv * gain * drive * reaching * imbalance(scenario, side);
  });
}

/** How much more the two contacts of a channel differ than well prepared ones of the same kinds. */
function imbalance({ electrodes, stimulus }: Scenario, side: 'ipsilateral' | 'contralateral'): number {
  const hz = stimulus.kind === 'click' ? CLICK_HZ : stimulus.frequencyHz;
  const at = (electrode: 'common' | typeof side, isAsPrepared: boolean) => {
    const { contactFactor, open } = electrodes[electrode];
    const factor = isAsPrepared ? (open ? OPEN_FACTOR : contactFactor) : 1;
    const contact = { ...electrodes[electrode], open: false, contactFactor: factor };
    return impedanceAt(contactOf({ electrodes: { ...electrodes, [electrode]: contact } }, electrode), hz);
  };
  const differenceOhm = (isAsPrepared: boolean) =>
    RESIDUAL_OHM + sizeOf(minus(at('common', isAsPrepared), at(side, isAsPrepared)));
  return differenceOhm(true) / differenceOhm(false);
}
