import { quantity, section } from '../quantity.ts';
import { burstKeys } from './bursts.ts';

export const movement = section('gross movement: electrodes and leads are pulled, muscles work', {
  ...burstKeys('0.02 to 0.3', {
    durationS: 1.5,
    durationLogSd: 0.7,
    burstUv: 200,
    burstLogSd: 0.8,
    lowHz: 0.5,
    highHz: 20,
    contralateralGain: 0.8,
  }),
  leadFactor: quantity('×', 1, 0, 10, 'how much of the pull electrodes and leads turn into voltage'),
  muscleShare: quantity('×', 0.15, 0, 2, 'size of the muscle noise relative to burstUv'),
  heldUv: quantity('µV rms', 0, 0, 5000, 'a movement without end: for events that ask for one'),
});
