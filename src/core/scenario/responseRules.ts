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

const CANAL_LIMIT_UV = 0.6; // µV, model value: larger action potentials are not seen from the ear canal
const BONE_LIMIT_DB_NHL = 45; // dB nHL, model value: a vibrator gives no more without distortion

/**
 * Checks that stimulus and response fit each other and the patient can have given it.
 *
 * @param refuse - told path, rule and value of what cannot be
 */
export function checkResponse(
  { response, stimulus, ecochg, converter }: Scenario,
  refuse: (path: string, rule: string, value: number | string) => void,
): void {
  const sounds = KINDS_OF_SOUND[response.kind];
  if (sounds && !sounds.includes(stimulus.kind)) {
    refuse('stimulus.kind', `must be ${sounds.join(' or ')} for response.kind ${response.kind}`, stimulus.kind);
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
