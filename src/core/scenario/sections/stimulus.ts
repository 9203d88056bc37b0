import { choice, quantity, section, wholeNumber } from '../quantity.ts';

/** What is presented, and when. */
export const stimulus = section('the sound', {
  levelDbNhl: quantity('dB nHL', 75, -10, 100, 'presentation level'),
  ratePerS: quantity('1/s', 27.7, 0.05, 100, 'stimuli per second'),
  jitterMs: quantity('ms', 0, 0, 100, 'each stimulus is moved by up to ± this, uniformly'),
  polarity: choice(
    'alternating',
    ['alternating', 'rarefaction', 'condensation', 'blocks'],
    'alternating, rarefaction or condensation; or blocks of one polarity after the other',
  ),
  sweepsPerPolarityBlock: wholeNumber('sweeps', 100, 1, 10000, 'length of the blocks of polarity blocks'),
  kind: choice(
    'click',
    ['click', 'tone-burst', 'modulated-tone'],
    'click, tone burst, or a tone that beats without end',
  ),
  frequencyHz: quantity('Hz', 1000, 250, 8000, 'frequency of a tone burst or a modulated tone'),
  riseCycles: quantity('cycle', 2, 0.5, 20, 'rise of a tone burst, and its fall'),
  plateauCycles: quantity('cycle', 0, 0, 200, 'full-size part of a tone burst'),
  modulationHz: quantity('Hz', 40, 20, 200, 'beat of a modulated tone, moved to whole cycles per sweep interval'),
  transducer: choice(
    'insert',
    ['insert', 'supra-aural', 'bone'],
    'insert earphone, earphone on the ear, or bone vibrator',
  ),
  maskingDb: quantity('dB', 0, 0, 100, 'noise in the far ear: the threshold to which it lifts that ear; 0 for none'),
  trainS: quantity('s', 0, 0, 600, 'stimuli come in trains of this length, with a rest between; 0 for no rests'),
  restS: quantity('s', 0, 0, 600, 'rest after each train; does not count as stimulation time'),
});
