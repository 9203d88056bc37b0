import { choice, quantity, section } from '../quantity.ts';

export const reflex = section('the muscle behind the ear that answers the sound', {
  peakUv: quantity('µV peak', 0, 0, 500, 'median size of a full answer at the mastoid; 0 for none, usual 5'),
  probability: quantity('', 0.6, 0, 1, 'chance that a stimulus is answered, usual 0.3 to 1'),
  amplitudeLogSd: quantity('ln', 0.6, 0, 2, 'log-normal scatter of the size from sweep to sweep'),
  gaze: choice('ahead', ['ahead', 'aside'], 'eyes turned to the side make the answer three times as large'),
});
