import type { Scenario } from '../scenario/schema.ts';

/** What a state of vigilance does to the EEG background, relative to a relaxed adult. Model values. */
export const EEG_STATES: Record<Scenario['eeg']['state'], { size: number; slowDensity: number }> = {
  'deep-sleep': { size: 0.7, slowDensity: 0.7 * 0.7 },
  relaxed: { size: 1, slowDensity: 1 },
  alert: { size: 1.5, slowDensity: 1.5 * 1.5 },
  'infant-asleep': { size: 1.4, slowDensity: 6 },
};
