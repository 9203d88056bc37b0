import { quantity, section } from '../quantity.ts';
import { burstKeys } from './bursts.ts';

export const neck = section('tension of the neck: a level that is held, and bursts', {
  tonicUv: quantity('µV rms', 0, 0, 500, 'median held level, before the gain of the site; 0 for none, usual 2 to 15'),
  tonicLogSd: quantity('ln', 0.5, 0, 2, 'log-normal scatter of the level between holds'),
  shortestHoldS: quantity('s', 10, 0.5, 600, 'a hold lasts from this …'),
  longestHoldS: quantity('s', 60, 0.5, 600, '… to this, uniformly'),
  ...burstKeys('0.05', {
    durationS: 0.8,
    durationLogSd: 0.6,
    burstUv: 15,
    burstLogSd: 0.5,
    lowHz: 40,
    highHz: 130,
    contralateralGain: 0.8,
  }),
  unitsPerS: quantity('1/s', 0, 0, 5000, 'firings seen one by one, of a faint hold; 0: countless, as on the skin'),
});
