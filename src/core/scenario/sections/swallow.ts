import { quantity, section } from '../quantity.ts';
import { burstKeys } from './bursts.ts';

export const swallow = section('swallowing: bursts of the muscles of mouth and throat', {
  ...burstKeys('0.02', {
    durationS: 1,
    durationLogSd: 0.3,
    burstUv: 40,
    burstLogSd: 0.4,
    lowHz: 40,
    highHz: 180,
    contralateralGain: 0.9,
  }),
  heldUv: quantity('µV rms', 0, 0, 2000, 'one swallow without end: for events that ask for a swallow'),
});
