import { quantity, section } from '../quantity.ts';

export const eyes = section('the eyes: their muscles, blinks and jumps of the gaze', {
  muscleUv: quantity('µV rms', 0, 0, 500, 'steady activity of the muscles under the eye; 0 for none, usual 3 to 6'),
  muscleLogSd: quantity('ln', 0.2, 0, 2, 'its slow swell and fade'),
  blinksPerS: quantity('1/s', 0, 0, 5, 'mean number of blinks per second; 0 for none, usual 0.25'),
  blinkS: quantity('s', 0.25, 0.05, 2, 'median length of a blink'),
  blinkLengthLogSd: quantity('ln', 0.2, 0, 2, 'log-normal scatter of the length'),
  blinkUv: quantity('µV peak', 80, 0, 2000, 'median size of a blink; under the eye 1.5 times as large'),
  blinkLogSd: quantity('ln', 0.3, 0, 2, 'log-normal scatter of the size'),
  staringFactor: quantity('×', 1, 1, 20, 'how much more often once a gaze has been held up for 8 s; usual 3'),
  saccadesPerS: quantity('1/s', 0, 0, 10, 'mean number of jumps of the gaze per second; 0 for none, usual 0.5'),
  saccadeUv: quantity('µV', 27, 0, 2000, 'mean step of a jump; under the eye 1.5 times as large'),
});
