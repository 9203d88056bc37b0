import { Type } from '@sinclair/typebox';
import { quantity, section } from '../quantity.ts';

/** How well the balance organ hears: it drives the muscle responses of neck and eye. */
export const vestibular = section('the balance organ of the ear under test', {
  thresholdDbNhl: quantity('dB nHL', 82, 40, 100, 'level of a 400–800 Hz tone burst at which it begins to answer'),
  strength: quantity('×', 1, 0, 1, 'share of the organ that works'),
  thirdWindow: Type.Boolean({
    default: false,
    description: 'a gap in the bone: it answers 20 dB earlier, up to 1 kHz',
  }),
});
