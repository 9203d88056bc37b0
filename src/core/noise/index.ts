import { amplifierNoise } from './amplifierNoise.ts';
import { artefact } from './artefact.ts';
import { blink } from './blink.ts';
import { breathing } from './breathing.ts';
import { brow } from './brow.ts';
import { child } from './child.ts';
import { contactJump } from './contactJump.ts';
import { currentNoise } from './currentNoise.ts';
import { diathermy } from './diathermy.ts';
import { drift } from './drift.ts';
import { eeg } from './eeg.ts';
import { eyeMuscle } from './eyeMuscle.ts';
import { heart } from './heart.ts';
import { leadMovement } from './leadMovement.ts';
import { mains } from './mains.ts';
import { movement } from './movement.ts';
import { muscle } from './muscle.ts';
import { neck } from './neck.ts';
import type { NoiseSource } from './noiseSource.ts';
import { pickup } from './pickup.ts';
import { reflex } from './reflex.ts';
import { saccade } from './saccade.ts';
import { shiver } from './shiver.ts';
import { skin } from './skin.ts';
import { sucking } from './sucking.ts';
import { swallow } from './swallow.ts';
import { switching } from './switching.ts';
import { thermal } from './thermal.ts';

/** Every source of noise, in the order in which they are added. */
export const noiseSources: readonly NoiseSource[] = [
  eeg,
  muscle,
  swallow,
  neck,
  brow,
  eyeMuscle,
  blink,
  saccade,
  child,
  sucking,
  shiver,
  movement,
  heart,
  reflex,
  breathing,
  skin,
  mains,
  drift,
  contactJump,
  leadMovement,
  artefact,
  diathermy,
  pickup,
  switching,
  thermal,
  currentNoise,
  amplifierNoise,
];
