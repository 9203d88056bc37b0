import { quantity, section } from '../quantity.ts';

export const heart = section('the electrocardiogram that reaches the electrodes', {
  qrsUv: quantity(
    'µV peak',
    0,
    0,
    500,
    'main peak between mastoid and vertex; 0 for none, usual 15; at the neck 40 times as large',
  ),
  beatS: quantity('s', 0.85, 0.25, 3, 'mean time from beat to beat'),
  beatSdS: quantity('s', 0.06, 0, 0.5, 'irregular scatter from beat to beat (log-normal)'),
  breathingShare: quantity('', 0.04, 0, 0.5, 'how much the time from beat to beat follows the breathing, ±'),
});
