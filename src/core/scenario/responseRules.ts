import { heardBeatHz } from '../stimulus/heardBeat.ts';
import type { Scenario } from './schema.ts';

const KINDS_OF_SOUND: Partial<Record<Scenario['response']['kind'], readonly Scenario['stimulus']['kind'][]>> = {
  'click-abr': ['click'],
  'tone-abr': ['tone-burst'],
  ecochg: ['click', 'tone-burst'],
  cvemp: ['click', 'tone-burst'],
  ovemp: ['click', 'tone-burst'],
  'middle-latency': ['click', 'tone-burst'],
  cortical: ['click', 'tone-burst'],
  'steady-state': ['modulated-tone'],
};

const HEAD: readonly Scenario['montage']['site'][] = ['mastoid', 'earlobe', 'canal'];
// Elsewhere the model has no answer to give: a muscle's is played for an electrode over that muscle and no other.
const SITES: Partial<Record<Scenario['response']['kind'], readonly Scenario['montage']['site'][]>> = {
  'click-abr': HEAD,
  'tone-abr': HEAD,
  ecochg: HEAD,
  cvemp: ['neck'],
  ovemp: ['infra-orbital'],
  'middle-latency': HEAD,
  cortical: HEAD,
  'steady-state': HEAD,
};

/**
 * Says where the electrodes may sit for a response.
 *
 * @example sitesFor('cvemp') // ['neck']
 */
export function sitesFor(kind: Scenario['response']['kind']): readonly Scenario['montage']['site'][] {
  return SITES[kind] ?? ['mastoid', 'earlobe', 'canal', 'neck', 'infra-orbital'];
}

const MOST_BEAT_SHIFT = 0.05; // of the beat that was asked for, our choice: 2 Hz of 40
const CANAL_LIMIT_UV = 0.6; // µV, model value: larger action potentials are not seen from the ear canal
const BONE_LIMIT_DB_NHL = 45; // dB nHL, model value: a vibrator gives no more without distortion

/**
 * Checks that stimulus and response fit each other and the patient can have given it.
 *
 * @param refuse - told path, rule and value of what cannot be
 */
export function checkResponse(
  { response, stimulus, ecochg, converter, montage }: Scenario,
  refuse: (path: string, rule: string, value: number | string) => void,
): void {
  const sounds = KINDS_OF_SOUND[response.kind];
  if (sounds && !sounds.includes(stimulus.kind)) {
    refuse('stimulus.kind', `must be ${sounds.join(' or ')} for response.kind ${response.kind}`, stimulus.kind);
  }
  const sites = SITES[response.kind];
  if (sites && !sites.includes(montage.site)) {
    refuse('montage.site', `must be ${sites.join(' or ')} for response.kind ${response.kind}`, montage.site);
  }
  if (!(stimulus.transducer !== 'bone' || stimulus.levelDbNhl <= BONE_LIMIT_DB_NHL)) {
    refuse('stimulus.levelDbNhl', `must be at most ${BONE_LIMIT_DB_NHL} dB nHL through the bone`, stimulus.levelDbNhl);
  }
  if (!(stimulus.restS === 0 || stimulus.trainS > 0)) {
    refuse('stimulus.restS', 'must be 0 without trains (stimulus.trainS)', stimulus.restS);
  }
  if (!(stimulus.trainS === 0 || stimulus.trainS * stimulus.ratePerS >= 1)) {
    refuse('stimulus.trainS', `must hold at least 1 stimulus at ${stimulus.ratePerS}/s`, stimulus.trainS);
  }
  if (!(response.kind !== 'steady-state' || stimulus.trainS === 0)) {
    refuse('stimulus.trainS', 'must be 0 for response.kind steady-state: its tone never stops', stimulus.trainS);
  }
  if (!(response.kind !== 'steady-state' || 3 * stimulus.modulationHz < converter.sampleRateHz / 2)) {
    const rule = `must be below a sixth of converter.sampleRateHz (${converter.sampleRateHz / 6} Hz)`;
    refuse('stimulus.modulationHz', rule, stimulus.modulationHz);
  }
  if (response.kind === 'steady-state') {
    const { modulationHz, ratePerS } = stimulus;
    const beatHz = heardBeatHz({ stimulus });
    if (!(Math.abs(beatHz - modulationHz) <= MOST_BEAT_SHIFT * modulationHz)) {
      const nearestPerS = modulationHz / Math.max(1, Math.round(modulationHz / ratePerS));
      const rule = `must go a whole number of times into stimulus.modulationHz (${modulationHz} Hz), or nearly; nearest ${Number(nearestPerS.toPrecision(4))}`;
      refuse('stimulus.ratePerS', rule, ratePerS);
    }
  }
  const potentialUv = ecochg.actionPotentialUv * response.amplitudeScale;
  if (!(response.kind !== 'ecochg' || potentialUv <= CANAL_LIMIT_UV)) {
    const rule = `times response.amplitudeScale must be at most ${CANAL_LIMIT_UV} µV: no ear canal gives more`;
    refuse('ecochg.actionPotentialUv', rule, potentialUv);
  }
  if (!(response.trajectory.endS >= response.trajectory.startS)) {
    const rule = `must not be before response.trajectory.startS (${response.trajectory.startS} s)`;
    refuse('response.trajectory.endS', rule, response.trajectory.endS);
  }
}
