import { artefact } from './artefact.ts';
import { breathing } from './breathing.ts';
import { brow } from './brow.ts';
import { diathermy } from './diathermy.ts';
import { eyes } from './eyes.ts';
import { heart } from './heart.ts';
import { leadMovement } from './leadMovement.ts';
import { montage } from './montage.ts';
import { movement } from './movement.ts';
import { neck } from './neck.ts';
import { reflex } from './reflex.ts';
import { shiver } from './shiver.ts';
import { skin } from './skin.ts';
import { sucking } from './sucking.ts';
import { swallow } from './swallow.ts';

/** Where the electrodes sit, and what body and room add there. All of it is absent unless a scenario asks for it. */
export const disturbanceSections = {
  montage,
  swallow,
  neck,
  brow,
  eyes,
  movement,
  sucking,
  shiver,
  skin,
  breathing,
  leadMovement,
  artefact,
  heart,
  reflex,
  diathermy,
};
