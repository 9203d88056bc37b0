import { quantity, section } from '../quantity.ts';
import { burstKeys } from './bursts.ts';

export const brow = section('frowning: bursts of the forehead', {
  ...burstKeys('0.1', {
    durationS: 0.6,
    durationLogSd: 0.5,
    burstUv: 12,
    burstLogSd: 0.5,
    lowHz: 30,
    highHz: 150,
    contralateralGain: 1,
  }),
  rhythmShare: quantity('', 0.3, 0, 1, 'share of the power in the rhythm of the motor units, near 30 Hz'),
});
