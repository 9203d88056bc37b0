import { quantity, section } from '../quantity.ts';

export const breathing = section('breathing: it moves electrodes, and the heart follows it', {
  sizeUv: quantity('µV peak', 0, 0, 2000, 'slow wave in a channel; 0 for none, usual 20'),
  breathsPerMin: quantity('1/min', 15, 4, 80, 'mean rate'),
  rateSd: quantity('', 0.1, 0, 0.5, 'wander of the rate relative to its mean'),
  contralateralGain: quantity('×', 0.8, -5, 5, 'size in the contralateral channel'),
});
