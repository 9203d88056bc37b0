import { Type } from '@sinclair/typebox';
import { quantity, section } from '../quantity.ts';

/** What the ears and the nerve do to a sound before the brainstem answers it. */
export const hearing = section('the ear under test, its nerve, and the ear on the other side', {
  conductiveDb: quantity('dB', 0, 0, 70, 'loss in the middle ear: every sound through the air is fainter by this'),
  thresholdsDbHl: Type.Array(Type.Number({ minimum: 0, maximum: 120 }), {
    default: [0, 0, 0, 0, 0],
    minItems: 5,
    maxItems: 5,
    unit: 'dB HL',
    description: 'thresholds of the cochlea at 0.5, 1, 2, 4 and 8 kHz; loud sounds are recruited',
  }),
  retrocochlear: section('a slow or compressed nerve between waves I and III', {
    present: Type.Boolean({ default: false, description: 'whether the nerve is slowed' }),
    delayMs: quantity('ms', 0.5, 0, 2, 'added to the interval I–III'),
    laterWavesGain: quantity('×', 0.4, 0, 1, 'size of waves III and V'),
    rateFactor: quantity('×', 2, 1, 5, 'how much more a faster rate delays and shrinks the waves'),
  }),
  desynchrony: section('fibres that fire out of step: hardly a wave, a full microphonic', {
    present: Type.Boolean({ default: false, description: 'whether the nerve is out of step' }),
    neuralGain: quantity('×', 0.05, 0, 1, 'size of every wave of nerve and brainstem'),
    jitterMs: quantity('ms', 0.5, 0, 2, 'standard deviation of the latency from sweep to sweep'),
    microphonicGain: quantity('×', 2, 0, 5, 'size of the cochlear microphonic'),
  }),
  crossHearing: Type.Boolean({ default: false, description: 'whether the sound may cross the head to the far ear' }),
  farThresholdDbHl: quantity('dB HL', 0, 0, 120, 'threshold of the far ear, the same at every frequency'),
});
