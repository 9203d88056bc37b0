import { quantity, section } from '../quantity.ts';

/** The upward gaze that brings the eye muscle under the electrode. */
export const gaze = section('the upward gaze that an ovemp needs', {
  targetDeg: quantity('°', 35, 0, 40, 'how far up the patient looks while he holds'),
  sagDeg: quantity('°', 5, 0, 40, 'where the gaze ends up when it sags'),
  holdS: quantity('s', 12, 0.5, 600, 'mean time for which a fresh patient holds it'),
  sagTimeS: quantity('s', 2, 0.1, 60, 'time constant of the sag'),
  recoveryS: quantity('s', 8, 0.5, 600, 'rest after which the hold is whole again; less rest, shorter hold'),
  lossPerTrain: quantity('', 0.1, 0, 1, 'share of the hold that each further train costs'),
});
