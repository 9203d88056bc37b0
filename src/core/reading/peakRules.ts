import type { Scenario } from '../scenario/schema.ts';

/** Where a reader looks for one peak, and how far to its trough. */
export interface PeakRule {
  name: string;
  /** 1 for a peak upwards, −1 for one downwards. */
  sign: 1 | -1;
  /** Search window, ms after the stimulus; after another peak's latency where `relativeTo` names one. */
  fromMs: number;
  toMs: number;
  relativeTo?: string;
  /** The trough that follows is the lowest point within so many ms. */
  troughMs: number;
}

/** How a reader marks the peaks of one kind of response. */
export interface PeakRules {
  /** In the order in which they are looked for: the surest first. */
  peaks: readonly PeakRule[];
  /** Half the width of the parabola, ms: about a third of the narrowest peak's own width. */
  halfMs: number;
}

const peak = (name: string, sign: 1 | -1, fromMs: number, toMs: number, troughMs: number): PeakRule => ({
  name,
  sign,
  fromMs,
  toMs,
  troughMs,
});

/**
 * Where to look, by kind of response. Windows are our choice: wide enough for every patient of the model.
 *
 * In the ABR wave V comes first, because it is there when nothing else is; waves I and III are sought before it. Muscle
 * and later responses have windows of their own. A steady-state response has no peaks: `readBeat` reads it.
 */
export const peakRules: Record<Exclude<Scenario['response']['kind'], 'steady-state' | 'none' | 'ecochg'>, PeakRules> = {
  'click-abr': {
    halfMs: 0.125,
    peaks: [
      peak('V', 1, 4.6, 10, 3.5),
      { ...peak('I', 1, -5.2, -3.2, 1.2), relativeTo: 'V' },
      { ...peak('III', 1, -2.7, -1.2, 1.2), relativeTo: 'V' },
    ],
  },
  'tone-abr': { halfMs: 0.25, peaks: [peak('V', 1, 5, 18, 6)] },
  cvemp: { halfMs: 0.75, peaks: [peak('p13', 1, 8, 18, 14), peak('n23', -1, 17, 30, 14)] },
  ovemp: { halfMs: 0.5, peaks: [peak('n10', -1, 7.5, 14, 8), peak('p15', 1, 12, 21, 8)] },
  'middle-latency': {
    halfMs: 1.5,
    peaks: [
      peak('Na', -1, 13, 24, 16),
      peak('Pa', 1, 23, 37, 16),
      peak('Nb', -1, 33, 48, 16),
      peak('Pb', 1, 44, 64, 20),
    ],
  },
  cortical: {
    halfMs: 6,
    peaks: [peak('N1', -1, 75, 180, 120), peak('P1', 1, 35, 90, 80), peak('P2', 1, 140, 290, 150)],
  },
};
