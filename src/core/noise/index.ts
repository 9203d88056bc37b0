import { amplifierNoise } from './amplifierNoise.ts';
import { child } from './child.ts';
import { drift } from './drift.ts';
import { eeg } from './eeg.ts';
import { mains } from './mains.ts';
import { muscle } from './muscle.ts';
import type { NoiseSource } from './noiseSource.ts';

/** Every source of noise, in the order in which they are added. */
export const noiseSources: readonly NoiseSource[] = [eeg, muscle, child, mains, drift, amplifierNoise];
