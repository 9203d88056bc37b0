import { quantity, section } from '../quantity.ts';

/** How the cortical response tires and recovers. */
export const cortical = section('the cortical response: recovery and habituation', {
  recoveryS: quantity('s', 2.5, 0.1, 30, 'time constant of the recovery after each stimulus'),
  habituation: quantity('', 0.3, 0, 1, 'share of the size that a long session costs'),
  habituationS: quantity('s', 60, 1, 3600, 'time constant of that loss, of stimulation time'),
});
