import { Type } from '@sinclair/typebox';
import { choice, quantity, section } from '../quantity.ts';

/** What every contact has, whatever it is made of. */
const contactKeys = {
  contactFactor: quantity(
    '×',
    1,
    0.2,
    100,
    'resistance of the contact relative to a well prepared one: 1 good, 3 hurried, 10 dry; its drift grows with the root',
  ),
  open: Type.Boolean({ default: false, description: 'off or broken: the lead hangs in the air' }),
  lossesPerS: quantity(
    '1/s',
    0,
    0,
    1,
    'moments in which the contact nearly lets go, per second; 0 for none, usual 0.01',
  ),
};

const headContact = (where: string) =>
  section(where, {
    type: choice('surface', ['surface', 'needle'], 'disc on the skin, or needle under it'),
    ...contactKeys,
  });

const earContact = (where: string) =>
  section(where, {
    type: choice(
      'surface',
      ['surface', 'canal', 'membrane', 'needle'],
      'disc on the skin, foil in the ear canal, wick on the eardrum, or needle',
    ),
    ...contactKeys,
    stepFactor: quantity(
      '×',
      1,
      0,
      100,
      'how often this contact jumps, relative to drift.stepsPerS; 0 once it is prepared again',
    ),
  });

/** The contacts between skin and lead. Where they sit is `montage.site`; what they are like is here. */
export const electrodes = section('the contacts: what they are, how well prepared, whether they hold', {
  common: headContact('the electrode that both channels share: vertex or forehead'),
  ipsilateral: earContact('the electrode on the side of the sound'),
  contralateral: earContact('the electrode on the other side'),
  ground: headContact('the electrode that ties the body to the amplifier'),
  lossS: quantity('s', 2, 0.1, 60, 'median length of a loss of contact'),
  lossLogSd: quantity('ln', 0.5, 0, 2, 'log-normal scatter of the length'),
  lossFactor: quantity('×', 20, 1, 1000, 'resistance of the contact while it is nearly lost'),
  lossJumpUv: quantity(
    'µV',
    0,
    0,
    20000,
    'median jump of the potential as a contact lets go, and as it grips; 0 for none, usual 300',
  ),
  thermalNoise: Type.Boolean({
    default: false,
    description: 'thermal noise of the contacts in the channels, from their resistance at each frequency',
  }),
});
