import type { Scenario } from '../scenario/schema.ts';
import type { Presentation } from '../stimulus/schedule.ts';

/** Two electrode channels: ipsilateral, then contralateral to the stimulated ear. */
export const CHANNEL_COUNT = 2;

/** One source of noise, playing. It owns its random streams. */
export interface PlayingNoise {
  /** Tells a source that is locked to the stimulus of the next presentation, before the block of its first sample. */
  present?(presentation: Presentation): void;
  /**
   * Adds samples [start, start + count) to the two channels, µV at the electrodes.
   * Blocks follow each other without gap; how long each is does not change a bit of the result.
   */
  addUv(channelsUv: readonly Float64Array[], start: number, count: number): void;
}

/** A kind of noise. */
export interface NoiseSource {
  /** Name of its streams and, later, of its row in the noise ledger. */
  id: string;
  label: string;
  /** True if it arises in leads and amplifier: exchanged, reversed or open leads are its own affair. */
  beyondContacts?: true;
  /** Starts the source at sample 0; null if the scenario has none of it. */
  create(scenario: Scenario, seed: string): PlayingNoise | null;
}
