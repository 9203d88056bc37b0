import { quantity, section } from '../quantity.ts';

export const shiver = section('shivering or trembling: muscle noise that swells with the rhythm', {
  muscleUv: quantity('µV rms', 0, 0, 500, 'size; 0 for none, usual 5 to 20'),
  rhythmHz: quantity('Hz', 10, 3, 20, 'mean rhythm, usual 8 to 12'),
  wanderHz: quantity('Hz rms', 0.7, 0, 3, 'slow wander of the rhythm'),
  depth: quantity('', 0.8, 0, 1, 'depth of the swelling'),
  lowHz: quantity('Hz', 50, 0.2, 1000, 'lower corner of the spectrum'),
  highHz: quantity('Hz', 200, 2, 4000, 'upper corner of the spectrum'),
  contralateralGain: quantity('×', 1, 0, 5, 'size in the contralateral channel'),
});
