import { electrodeNames, testContacts } from '../chain/contact.ts';
import { gainOf } from '../chain/gain.ts';
import { artefactPeakUv } from '../noise/artefactSize.ts';
import { soundMs } from '../response/burst.ts';
import { lockDistance } from '../stimulus/lockDistance.ts';
import { approximateDbSpl } from './cautions.ts';
import { scenarioStages } from './resolve.ts';
import { type Scenario, scenarioSchema } from './schema.ts';

/** Something that can be, but hardly ever is: the run goes on. */
export interface PlausibilityWarning {
  /** The key that is out of the ordinary. */
  path: string;
  /** What is usual, as a rule for the value. */
  rule: string;
  value: number | string;
}

type Doubt = (path: string, rule: string, value: number | string) => void;

/** One group of doubts; told the scenario, it raises what it finds. */
type Check = (scenario: Scenario, doubt: Doubt) => void;

/**
 * Names what in a scenario is possible and yet implausible; what is impossible `resolveScenario` has refused.
 *
 * Events are looked at as well: what is in doubt only after an event is named with its number in front.
 *
 * @returns warnings in the order of the document; empty for an ordinary session
 * @example plausibilityWarnings(resolveScenario({ filter: { lowPassHz: 7000 } }))[0].path // 'filter.lowPassHz'
 */
export function plausibilityWarnings(scenario: Scenario): PlausibilityWarning[] {
  const known = new Set<string>();
  return scenarioStages(scenario).flatMap(({ scenario: stage }, k) =>
    doubtsOf(stage)
      .filter(({ path, rule, value }) => {
        const text = JSON.stringify([path, rule, value]);
        const isNew = !known.has(text);
        known.add(text);
        return isNew;
      })
      .map((warning) => (k === 0 ? warning : { ...warning, path: `after event ${k}: ${warning.path}` })),
  );
}

function doubtsOf(scenario: Scenario): PlausibilityWarning[] {
  const warnings: PlausibilityWarning[] = [];
  for (const check of CHECKS) check(scenario, (path, rule, value) => warnings.push({ path, rule, value }));
  return warnings;
}

const LOUD_CLICK_DB_NHL = 95; // dB nHL: few earphones give more without distortion, common practice, no source
const PEAK_LIMIT_DB_SPL = 140; // dB peak SPL, the example of a safe limit in [PA14]
const SILENT_BALANCE_DB_NHL = 70; // dB nHL, our choice: 12 dB below the model's threshold

const level: Check = ({ stimulus, response, vestibular, ...rest }, doubt) => {
  const { levelDbNhl } = stimulus;
  const vemp = response.kind === 'cvemp' || response.kind === 'ovemp';
  if (!vemp && levelDbNhl > LOUD_CLICK_DB_NHL) {
    doubt('stimulus.levelDbNhl', `is seldom above ${LOUD_CLICK_DB_NHL} dB nHL for ${response.kind}`, levelDbNhl);
  }
  const peakDbSpl = approximateDbSpl({ stimulus, response, vestibular, ...rest }) + 3; // crest of a sine over its rms
  if (stimulus.transducer !== 'bone' && peakDbSpl > PEAK_LIMIT_DB_SPL) {
    doubt('stimulus.levelDbNhl', `should stay below about ${PEAK_LIMIT_DB_SPL} dB peak SPL`, Math.round(peakDbSpl));
  }
  if (vemp && !vestibular.thirdWindow && levelDbNhl < SILENT_BALANCE_DB_NHL) {
    doubt('stimulus.levelDbNhl', `of less than ${SILENT_BALANCE_DB_NHL} dB nHL wakes no balance organ`, levelDbNhl);
  }
};

const truth: Check = ({ measures, response }, doubt) => {
  const muscle = response.kind === 'cvemp' || response.kind === 'ovemp';
  if (measures.truth === 'normalised' && !muscle) {
    doubt('measures.truth', `divides by a muscle that does not make the response of ${response.kind}`, measures.truth);
  }
};

const HARDLY_UP_DEG = 5; // °, our choice: the default end of a sag; who looks ahead may end there

const sound: Check = (scenario, doubt) => {
  const { stimulus, artefact, amplifier, gaze, response } = scenario;
  const intervalMs = 1000 / stimulus.ratePerS;
  const lengthMs = stimulus.kind === 'modulated-tone' ? 0 : soundMs(stimulus);
  if (lengthMs > intervalMs) {
    const rule = `makes a sound of ${shortNumber(lengthMs)} ms, longer than the interval (${shortNumber(intervalMs)} ms)`;
    doubt('stimulus.plateauCycles', rule, stimulus.plateauCycles);
  }
  const artefactUv = Math.max(...artefactPeakUv(scenario));
  if (artefactUv > amplifier.rangeUv) {
    const rule = `gives ${shortNumber(artefactUv)} µV here: every stimulus drives the amplifier over its range (${amplifier.rangeUv} µV)`;
    doubt('artefact.peakUv', rule, artefact.peakUv);
  }
  if (response.kind === 'ovemp' && gaze.sagDeg > gaze.targetDeg + HARDLY_UP_DEG) {
    doubt('gaze.sagDeg', `is usually not above gaze.targetDeg (${gaze.targetDeg}°): eyes sag downwards`, gaze.sagDeg);
  }
};

const LOCK_TURNS = 0.005; // turns from sweep to sweep, our choice: a harmonic then takes 200 sweeps to come round

const rate: Check = ({ stimulus, mains, window }, doubt) => {
  const { ratePerS, jitterMs } = stimulus;
  if (jitterMs === 0 && lockDistance(ratePerS, mains.lineHz, 1) < LOCK_TURNS) {
    doubt('stimulus.ratePerS', `should not divide mains.lineHz (${mains.lineHz} Hz): the hum would stay`, ratePerS);
  }
  const windowMs = window.preMs + window.postMs;
  const intervalMs = 1000 / ratePerS;
  if (windowMs > intervalMs) {
    const rule = `with window.preMs is longer than the interval (${shortNumber(intervalMs)} ms): sweeps share samples`;
    doubt('window.postMs', rule, windowMs);
  }
};

const LARGE_POTENTIAL_UV = 0.5; // µV, model value: from here on the canal's ceiling of 0.6 µV bends it

const response: Check = ({ response: { kind, amplitudeScale }, ecochg, montage }, doubt) => {
  if (kind === 'ecochg' && montage.site !== 'canal') {
    doubt('montage.site', 'is canal for ecochg: elsewhere muscles reach the electrode with another size', montage.site);
  }
  const potentialUv = ecochg.actionPotentialUv * amplitudeScale;
  if (kind === 'ecochg' && potentialUv > LARGE_POTENTIAL_UV) {
    const rule = `times response.amplitudeScale is above ${LARGE_POTENTIAL_UV} µV, near the most that a canal shows`;
    doubt('ecochg.actionPotentialUv', rule, potentialUv);
  }
};

const patient: Check = ({ patient: { ageYears, infant } }, doubt) => {
  // The model adult's age stands in every document that names none: only another one was meant.
  if (infant.present && ageYears !== scenarioSchema.properties.patient.properties.ageYears.default) {
    const rule = `does not count while patient.infant.present is true: ${infant.weeksPastTerm} weeks past term do`;
    doubt('patient.ageYears', rule, ageYears);
  }
};

/** Responses that a sick hearing nerve leaves as they are here, and why. */
const BEYOND_THE_NERVE: Record<string, string> = {
  cortical: 'slow waves outlast it',
  cvemp: 'the balance nerve is another',
  ovemp: 'the balance nerve is another',
};

const nerve: Check = ({ hearing, response: { kind } }, doubt) => {
  for (const key of ['retrocochlear', 'desynchrony'] as const) {
    if (!hearing[key].present || !(kind in BEYOND_THE_NERVE)) continue;
    doubt(`hearing.${key}.present`, `does nothing to ${kind} here: ${BEYOND_THE_NERVE[kind]}`, 'true');
  }
};

const NEARLY_OFF_KOHM = 100; // kΩ at the test, our choice: a technician would call such an electrode off
const LARGE_CURRENT_UA = 5; // µA, our choice: ten times intensive care
const LARGE_LEAD_CURRENT_NA_PER_M = 50; // nA/m, our choice: ten times intensive care
const LARGE_FIELD_UT = 10; // µT, our choice: ten times intensive care
const POOR_REJECTION_DB = 80; // dB: 100 to 110 are usual, common practice, no source

type ContactType = Scenario['electrodes']['ipsilateral']['type'];

/** What sits at a place: usual first, then what is in use as well. Common practice, no source. */
const CONTACTS_AT: Record<Scenario['montage']['site'], readonly ContactType[]> = {
  mastoid: ['surface', 'needle'],
  earlobe: ['surface'],
  canal: ['canal'],
  neck: ['surface'],
  'infra-orbital': ['surface'],
};

/**
 * Says which contacts are in use at a place, the usual one first.
 *
 * @example contactsAt('canal') // ['canal']
 */
export function contactsAt(site: Scenario['montage']['site']): readonly ContactType[] {
  return CONTACTS_AT[site];
}

const COCHLEAR_CONTACTS: Record<Scenario['ecochg']['electrode'], ContactType> = {
  canal: 'canal',
  membrane: 'membrane',
  transtympanic: 'needle',
};

/** What the electrodes of both sides may be without a question. */
function usualContacts({
  response,
  ecochg,
  montage,
}: Scenario): Record<'ipsilateral' | 'contralateral', readonly ContactType[]> {
  if (response.kind !== 'ecochg')
    return { ipsilateral: CONTACTS_AT[montage.site], contralateral: CONTACTS_AT[montage.site] };
  const near = COCHLEAR_CONTACTS[ecochg.electrode];
  return { ipsilateral: [near], contralateral: [near, 'canal', 'surface'] };
}

const contacts: Check = (scenario, doubt) => {
  const { electrodes, room, amplifier } = scenario;
  for (const { electrode, testedKohm } of testContacts(scenario)) {
    if (electrodes[electrode].open) doubt(`electrodes.${electrode}.open`, 'is seldom left so: the lead is off', 'true');
    else if (testedKohm > NEARLY_OFF_KOHM) {
      const rule = `gives ${Math.round(testedKohm)} kΩ at the test; above ${NEARLY_OFF_KOHM} kΩ it is practically off`;
      doubt(`electrodes.${electrode}.contactFactor`, rule, electrodes[electrode].contactFactor);
    }
  }
  const losing = electrodeNames.filter((electrode) => electrodes[electrode].lossesPerS * electrodes.lossS > 0.5);
  for (const electrode of losing) {
    doubt(`electrodes.${electrode}.lossesPerS`, 'loses contact most of the time', electrodes[electrode].lossesPerS);
  }
  for (const [side, types] of Object.entries(usualContacts(scenario)) as ['ipsilateral', readonly ContactType[]][]) {
    const { type } = electrodes[side];
    if (!types.includes(type)) {
      doubt(`electrodes.${side}.type`, `is ${types.join(' or ')} where the electrode sits (montage, ecochg)`, type);
    }
  }
  if (room.bodyCurrentUa > LARGE_CURRENT_UA) {
    doubt('room.bodyCurrentUa', `is seldom above ${LARGE_CURRENT_UA} µA`, room.bodyCurrentUa);
  }
  if (room.leadCurrentNaPerM > LARGE_LEAD_CURRENT_NA_PER_M) {
    const rule = `is seldom above ${LARGE_LEAD_CURRENT_NA_PER_M} nA/m`;
    doubt('room.leadCurrentNaPerM', rule, room.leadCurrentNaPerM);
  }
  for (const key of ['fieldUt', 'lampFieldUt'] as const) {
    if (room[key] > LARGE_FIELD_UT) doubt(`room.${key}`, `is seldom above ${LARGE_FIELD_UT} µT`, room[key]);
  }
  if (amplifier.commonModeRejectionDb < POOR_REJECTION_DB) {
    const rule = `is seldom below ${POOR_REJECTION_DB} dB`;
    doubt('amplifier.commonModeRejectionDb', rule, amplifier.commonModeRejectionDb);
  }
};

const NECK_GAIN = [2500, 5000]; // × for the cervical response, [PA14]
const COARSE_LSB_UV = 0.5; // µV, our choice: a third of the noise in a quiet sweep
const SMALL_RESPONSES: readonly string[] = ['click-abr', 'tone-abr', 'ecochg', 'steady-state'];

const recording: Check = ({ amplifier, converter, response: { kind } }, doubt) => {
  const gain = gainOf(amplifier.rangeUv);
  if (kind === 'cvemp' && !(gain >= NECK_GAIN[0] && gain <= NECK_GAIN[1])) {
    const rule = `is usually ${5e6 / NECK_GAIN[1]} to ${5e6 / NECK_GAIN[0]} µV for cvemp (gain ${NECK_GAIN.join(' to ')})`;
    doubt('amplifier.rangeUv', rule, amplifier.rangeUv);
  }
  let lsbUv = 2 * amplifier.rangeUv;
  for (let k = 0; k < converter.bits; k++) lsbUv /= 2;
  if (SMALL_RESPONSES.includes(kind) && lsbUv > COARSE_LSB_UV) {
    const rule = `gives ${shortNumber(lsbUv)} µV a code at amplifier.rangeUv ${amplifier.rangeUv} µV: coarse for ${kind}`;
    doubt('converter.bits', rule, converter.bits);
  }
  if (converter.guardMs < 3 * amplifier.recoveryMs) {
    const rule = `should be at least 3 × amplifier.recoveryMs (${3 * amplifier.recoveryMs} ms)`;
    doubt('converter.guardMs', rule, converter.guardMs);
  }
};

const NEAR_NYQUIST = 0.4; // of the sample rate, our choice: beyond, the bilinear transform bends the slope
const HIGHEST_HIGH_PASS_HZ = 300; // Hz: the highest in use for short responses, common practice, no source

const filters: Check = ({ filter, converter }, doubt) => {
  const nearHz = NEAR_NYQUIST * converter.sampleRateHz;
  if (filter.lowPassHz > nearHz) {
    doubt('filter.lowPassHz', `is near half of converter.sampleRateHz: usual up to ${nearHz} Hz`, filter.lowPassHz);
  }
  if (filter.highPassHz > HIGHEST_HIGH_PASS_HZ) {
    doubt('filter.highPassHz', `above ${HIGHEST_HIGH_PASS_HZ} Hz takes the response with it`, filter.highPassHz);
  }
  if (filter.highPassHz * 2 > filter.lowPassHz) {
    doubt(
      'filter.lowPassHz',
      `leaves less than an octave above filter.highPassHz (${filter.highPassHz} Hz)`,
      filter.lowPassHz,
    );
  }
};

/** Every check, in the order in which its sections stand in the document. */
const CHECKS: readonly Check[] = [level, truth, sound, rate, response, patient, nerve, contacts, recording, filters];

function shortNumber(value: number): number {
  return Math.round(100 * value) / 100;
}
