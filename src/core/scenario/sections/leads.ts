import { Type } from '@sinclair/typebox';
import { choice, quantity, section } from '../quantity.ts';

export const leads = section('the wires from the electrodes to the amplifier', {
  lengthM: quantity('m', 1.2, 0.05, 10, 'length of each lead'),
  loopM2PerM: quantity('m²/m', 0.05, 0.0005, 0.3, 'area between the leads per metre: 0.05–0.1 spread, 0.01 bunched'),
  shieldFactor: quantity('×', 1, 0, 1, 'part of the displacement current that reaches the wire: 1 bare, 0.05 shielded'),
  preampAtElectrode: Type.Boolean({
    default: false,
    description: 'first stage at the head: lead current and loop × 0.05, input impedance × 5',
  }),
  swapped: choice(
    'none',
    ['none', 'sides', 'common-ipsilateral', 'common-contralateral'],
    'which two leads are plugged in for each other',
  ),
  reversed: Type.Boolean({ default: false, description: 'both channels upside down: inputs plus and minus exchanged' }),
});
