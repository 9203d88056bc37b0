import { quantity, section } from '../quantity.ts';

export const skin = section('slow potentials of sweating skin', {
  sweatUv: quantity('µV rms', 0, 0, 5000, 'size in a channel; 0 for none, 50 to 300 in a warm room'),
  cornerHz: quantity('Hz', 0.1, 0.01, 1, 'above this the potential falls, usual 0.05 to 0.2'),
});
