import { choice, section } from '../quantity.ts';

/** Where the electrodes sit. Both channels have the same kind of place, one on each side of the head. */
export const montage = section('where the electrodes sit, on both sides alike', {
  site: choice(
    'mastoid',
    ['mastoid', 'earlobe', 'canal', 'neck', 'infra-orbital'],
    'mastoid, earlobe or canal (each to the vertex), neck (to the breastbone), or infra-orbital (to the chin)',
  ),
});
