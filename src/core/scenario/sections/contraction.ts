import { quantity, section } from '../quantity.ts';

/** The held contraction of the neck muscle that a cervical response modulates. */
export const contraction = section('the neck muscle that is held tense for a cvemp', {
  meanRectifiedUv: quantity('µV', 120, 0, 1000, 'mean rectified activity on the target, side of the stimulated ear'),
  otherSideGain: quantity('×', 0.9, 0, 2, 'activity of the other side relative to this'),
  unitsPerS: quantity('1/s', 1500, 100, 20000, 'motor-unit potentials per second: few are spiky, many are smooth'),
  logSd: quantity('ln', 0.15, 0, 1, 'wander around the target: about 0.15 with a meter, 0.3 to 0.5 without'),
  memoryS: quantity('s', 2, 0.1, 60, 'how long a wander lasts'),
  fatiguePerMin: quantity('1/min', 0.2, 0, 3, 'activity lost per minute of holding, as a rate of decay'),
  recoveryS: quantity('s', 30, 1, 600, 'time constant with which a rest brings it back'),
});
