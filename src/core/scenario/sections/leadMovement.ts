import { quantity, section } from '../quantity.ts';

export const leadMovement = section('leads that swing or are knocked: friction charges the cable', {
  knocksPerS: quantity('1/s', 0, 0, 5, 'mean number of knocks per second and lead (Poisson); 0 for none, usual 0.05'),
  knockUv: quantity('µV peak', 100, 0, 20000, 'median size of a knock'),
  knockLogSd: quantity('ln', 0.8, 0, 2, 'log-normal scatter of the size'),
  swingHz: quantity('Hz', 3, 0.2, 50, 'median frequency with which the lead swings'),
  decayS: quantity('s', 0.3, 0.01, 10, 'time constant with which the swing dies away'),
});
