import { choice, quantity, section } from '../quantity.ts';

/** Electrocochleography: the electrode near the cochlea and what it can pick up. */
export const ecochg = section('electrocochleography: the electrode, and the ear at 87 dB nHL and 10/s', {
  electrode: choice(
    'canal',
    ['canal', 'membrane', 'transtympanic'],
    'in the ear canal, on the eardrum, or through the eardrum',
  ),
  actionPotentialUv: quantity('µV', 0.45, 0, 5, 'action potential as an electrode in the canal sees it, base to N1'),
  summatingRatio: quantity('', 0.25, 0, 1.5, 'summating potential / action potential; hydrops about 0.55'),
  microphonicUv: quantity('µV', 0.1, 0, 2, 'cochlear microphonic as an electrode in the canal sees it, peak'),
  polarityImbalance: quantity('', 0.03, 0, 0.5, 'share of the microphonic that alternation leaves: unequal polarities'),
});
