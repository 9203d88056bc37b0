import { quantity, section } from '../quantity.ts';

export const diathermy = section('the electric knife of an operating theatre', {
  burstsPerS: quantity('1/s', 0, 0, 1, 'mean number of uses per second (Poisson); 0 for none, usual 0.02'),
  shortestS: quantity('s', 1, 0.1, 60, 'a use lasts from this …'),
  longestS: quantity('s', 5, 0.1, 60, '… to this, uniformly'),
  sparkUv: quantity('µV peak', 10000, 0, 1000000, 'median size of a spark at the electrodes'),
  sparkLogSd: quantity('ln', 0.5, 0, 2, 'log-normal scatter of the size'),
  sparksPerS: quantity('1/s', 300, 1, 5000, 'sparks per second while it is in use (Poisson)'),
  sparkMs: quantity('ms', 0.3, 0.05, 20, 'time constant with which the voltage of a spark fades'),
  contralateralGain: quantity('×', 0.7, 0, 5, 'size in the contralateral channel'),
});
