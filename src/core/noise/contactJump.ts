import { electrodeNames } from '../chain/contact.ts';
import { exp } from '../elementary.ts';
import { nextLogNormal, nextUniform, stream } from '../random/stream.ts';
import { CONTACT_STEP_SAMPLES, contactLosses } from './contactLoss.ts';
import type { NoiseSource } from './noiseSource.ts';

const SIZE_LOG_SD = 0.5; // scatter of the jumps, our choice
const RECOVERY_S = 1; // the layer between metal and gel forms anew, our choice

/** The electrodes that reach a channel; the ground has no part in the difference. */
const SEEN = electrodeNames.filter((name) => name !== 'ground');

/**
 * Jumps of the half-cell potential when a contact nearly lets go, and again when it grips.
 *
 *     x_c = j_common − j_c,   j jumps by ± LogN(lossJumpUv, 0.5) at both ends of a loss and fades with 1 s
 *
 * Disturbed metal and gel do not have the potential that they had. The moments are those of `contactLosses`, so the jump
 * comes with the rise of impedance, hum and thermal noise. Stream: 'contact-jump', by electrode; two draws a jump.
 */
export const contactJump: NoiseSource = {
  id: 'contact-jump',
  label: 'Contact jumps',
  create(scenario, seed) {
    const { lossJumpUv } = scenario.electrodes;
    const losses = contactLosses(scenario, seed);
    if (lossJumpUv === 0 || losses.never) return null;
    const { sampleRateHz } = scenario.converter;
    const fade = exp(-1 / (RECOVERY_S * sampleRateHz));
    const contacts = SEEN.map((electrode, index) => ({
      electrode,
      draws: stream(seed, 'contact-jump', index),
      gains: electrode === 'common' ? [1, 1] : electrode === 'ipsilateral' ? [-1, 0] : [0, -1],
      wasLost: false,
      offsetUv: 0,
    }));

    return {
      addUv(channelsUv, start, count) {
        for (let from = 0; from < count; ) {
          const at = start + from;
          const phase = at % CONTACT_STEP_SAMPLES;
          const to = Math.min(count, from + CONTACT_STEP_SAMPLES - phase);
          for (const contact of contacts) {
            const isLost = phase === 0 ? losses.isLost(contact.electrode, at / sampleRateHz) : contact.wasLost;
            if (isLost !== contact.wasLost) {
              const sizeUv = nextLogNormal(contact.draws, lossJumpUv, SIZE_LOG_SD);
              contact.offsetUv += nextUniform(contact.draws) < 0.5 ? sizeUv : -sizeUv;
              contact.wasLost = isLost;
            }
            if (contact.offsetUv === 0) continue;
            let left = contact.offsetUv;
            for (let i = from; i < to; i++) {
              for (let c = 0; c < channelsUv.length; c++) channelsUv[c][i] += contact.gains[c] * left;
              left *= fade;
            }
            contact.offsetUv = Math.abs(left) < 1e-12 ? 0 : left; // else it fades into slow denormals
          }
          from = to;
        }
      },
    };
  },
};
