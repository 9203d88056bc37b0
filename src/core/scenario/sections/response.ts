import { choice, quantity, section } from '../quantity.ts';

/** What the ear, the brain or the muscle answers. */
export const response = section('what the ear and brain answer', {
  kind: choice(
    'click-abr',
    ['click-abr', 'tone-abr', 'ecochg', 'cvemp', 'ovemp', 'middle-latency', 'cortical', 'steady-state', 'none'],
    'which response is sought; none for a silent patient',
  ),
  amplitudeScale: quantity('×', 1, 0, 20, 'size of the whole response relative to the model adult'),
  latencyJitterMs: quantity('ms', 0.05, 0, 2, 'standard deviation of the latency from sweep to sweep'),
  waveJitterMs: quantity('ms', 0, 0, 2, 'of the waves of an ABR against each other, besides; 0 for none, usual 0.05'),
  amplitudeLogSd: quantity('ln', 0.05, 0, 1, 'log-normal scatter of the amplitude from sweep to sweep'),
  trajectory: section('a slow change during the session, as in the operating theatre', {
    startS: quantity('s', 0, 0, 7200, 'stimulation time at which the change begins'),
    endS: quantity('s', 60, 0, 7200, 'stimulation time at which it is complete'),
    latencyShiftMs: quantity('ms', 0, -3, 3, 'by how much the response is later in the end'),
    amplitudeFactor: quantity('×', 1, 0, 5, 'its size in the end'),
  }),
});
