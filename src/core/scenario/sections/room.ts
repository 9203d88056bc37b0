import { Type } from '@sinclair/typebox';
import { quantity, section } from '../quantity.ts';

const ratios = (description: string) =>
  Type.Array(Type.Number({ minimum: 0, maximum: 10 }), {
    default: [1, 0.15, 0.4, 0.1, 0.2, 0, 0.08],
    minItems: 1,
    maxItems: 12,
    unit: '×',
    description,
  });

export const room = section(
  'what the electric supply does to body, leads and loop; comes on top of the section mains',
  {
    bodyCurrentUa: quantity(
      'µA peak',
      0,
      0,
      50,
      'displacement current into the body; 0 for none, usual 0.1 in an office, 0.3 in a surgery, 0.5 in intensive care',
    ),
    leadCurrentNaPerM: quantity(
      'nA/m peak',
      0,
      0,
      500,
      'displacement current into each metre of bare lead; 0 for none, usual 1, 3, 5',
    ),
    fieldUt: quantity(
      'µT peak',
      0,
      0,
      100,
      'magnetic field through the loop of the leads; 0 for none, usual 0.03, 0.2, 1',
    ),
    lampFieldUt: quantity(
      'µT peak',
      0,
      0,
      100,
      'magnetic field of lamps and their ballasts, at twice the line frequency; 0 for none, usual 0.05',
    ),
    bodyHarmonicRatios: ratios('body current at harmonics 1, 2, 3 … relative to the first'),
    leadHarmonicRatios: ratios('lead current at harmonics 1, 2, 3 … relative to the first'),
    fieldHarmonicRatios: ratios('magnetic field at harmonics 1, 2, 3 … relative to the first'),
    modulation: quantity('', 0.05, 0, 0.3, 'rms share by which people who move about change the pickup'),
    modulationMemoryS: quantity('s', 3, 0.2, 60, 'how long such a change lasts'),
    switchingsPerS: quantity('1/s', 0, 0, 5, 'motors and pumps switched on or off, per second; 0 for none, usual 0.05'),
    switchingUv: quantity('µV peak', 50, 0, 20000, 'median size of the transient of a switching at the amplifier'),
  },
);
