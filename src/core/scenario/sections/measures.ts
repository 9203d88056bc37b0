import { choice, quantity, section } from '../quantity.ts';

/** What the averages are judged against, and how strictly. */
export const measures = section('what the averages are judged against, and how strictly', {
  truth: choice(
    'session-mean',
    ['session-mean', 'current', 'normalised', 'full-effort'],
    'mean response of all sweeps; that of the latest sweep; the mean for equal contraction; or what full effort gives',
  ),
  absentGapNv: quantity('nV', 25, 0.1, 100000, 'widest gap between split buffers at which "absent" may be said'),
});
