import { Type } from '@sinclair/typebox';
import { quantity, section } from '../quantity.ts';

export const sucking = section('an infant that sucks: short bursts in a rhythm, in bouts', {
  present: Type.Boolean({ default: false, description: 'whether bouts of sucking are simulated' }),
  boutS: quantity('s', 10, 1, 600, 'mean length of a bout'),
  pauseS: quantity('s', 10, 0.5, 600, 'mean pause between bouts'),
  sucksPerS: quantity('1/s', 1.5, 0.2, 5, 'mean rhythm; each bout has its own within a third of it'),
  suckS: quantity('s', 0.15, 0.05, 2, 'length of one burst'),
  suckUv: quantity('µV rms', 15, 0, 500, 'median size of a burst, before the gain of the site'),
  suckLogSd: quantity('ln', 0.4, 0, 2, 'log-normal scatter of the size'),
  lowHz: quantity('Hz', 60, 0.2, 1000, 'lower corner of the spectrum'),
  highHz: quantity('Hz', 200, 2, 4000, 'upper corner of the spectrum'),
  contralateralGain: quantity('×', 1, 0, 5, 'size in the contralateral channel'),
});
