import type { Scenario } from '../scenario/schema.ts';
import type { Presentation } from '../stimulus/schedule.ts';

/** A response in the making: puts the answer to each presentation on the continuous time base. */
export interface EvokedResponse {
  /** Tells of the next presentation; must come before the block that holds its first sample. */
  present(presentation: Presentation): void;
  /** Adds samples [start, start + count) of the noise-free response to the two channels, µV. */
  addUv(channelsUv: readonly Float64Array[], start: number, count: number): void;
  /**
   * Adds the noise that belongs to the response itself, µV; left out where there is none. A muscle response is the
   * mean of a random firing: what the firing adds to its mean is heard here, in the recording only.
   */
  addNoiseUv?(channelsUv: readonly Float64Array[], start: number, count: number): void;
}

/** A kind of response. */
export interface ResponseKind {
  /** Stored in scenarios: never renamed. */
  id: Scenario['response']['kind'];
  label: string;
  /** Starts the response at sample 0 of a recording. */
  create(scenario: Scenario, seed: string): EvokedResponse;
}
