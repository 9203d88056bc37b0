import { quantity } from '../quantity.ts';

interface BurstDefaults {
  durationS: number;
  durationLogSd: number;
  burstUv: number;
  burstLogSd: number;
  lowHz: number;
  highHz: number;
  contralateralGain: number;
}

/** The keys that every source of bursts has; without onsets there is no burst. */
export function burstKeys(usualPerS: string, defaults: BurstDefaults) {
  return {
    burstsPerS: quantity('1/s', 0, 0, 5, `mean number of bursts per second; 0 for none, usual ${usualPerS}`),
    clustering: quantity('', 0, 0, 0.9, 'how many further bursts each one brings on average; 0 for Poisson'),
    durationS: quantity('s', defaults.durationS, 0.05, 60, 'median length of a burst'),
    durationLogSd: quantity('ln', defaults.durationLogSd, 0, 2, 'log-normal scatter of the length'),
    burstUv: quantity('µV rms', defaults.burstUv, 0, 5000, 'median size of a burst, before the gain of the site'),
    burstLogSd: quantity('ln', defaults.burstLogSd, 0, 2, 'log-normal scatter of the size'),
    lowHz: quantity('Hz', defaults.lowHz, 0.2, 1000, 'lower corner of the spectrum'),
    highHz: quantity('Hz', defaults.highHz, 2, 4000, 'upper corner of the spectrum'),
    contralateralGain: quantity('×', defaults.contralateralGain, 0, 5, 'size in the contralateral channel'),
  };
}
