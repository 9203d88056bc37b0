import { quantity, section } from '../quantity.ts';

export const artefact = section('what the transducer radiates into the leads', {
  peakUv: quantity(
    'µV peak',
    0,
    0,
    100000,
    'size at the usual level, contacts well prepared, leads bare; 0 for none, usual 0.1 with a tube, 10 with a transducer near the leads; a bone vibrator × 5',
  ),
  tubeDelayMs: quantity('ms', 0.9, 0, 10, 'an insert earphone: the artefact comes this long before the sound'),
  widthMs: quantity('ms', 0.2, 0.05, 5, 'length of the electric click'),
  residualRatio: quantity('', 0.02, 0, 1, 'part that does not change sign with the polarity, usual 0.01 to 0.03'),
  contralateralGain: quantity('×', 0.3, 0, 5, 'size in the contralateral channel'),
});
