import { type ElectrodeName, electrodeNames } from '../chain/contact.ts';
import { nextExponential, nextLogNormal, stream } from '../random/stream.ts';
import type { Scenario } from '../scenario/schema.ts';

/** Samples between two looks at the contacts: a loss begins and ends on such a step of the recording. */
export const CONTACT_STEP_SAMPLES = 1024;

/** Which contacts are nearly lost, step by step. */
export interface ContactLosses {
  /** True if no contact is ever lost. */
  never: boolean;
  /** Says whether a contact is nearly lost at a time; times must not go back. */
  isLost(electrode: ElectrodeName, timeS: number): boolean;
}

/**
 * Draws when contacts nearly let go: Poisson moments in each electrode, log-normal in length.
 *
 * Whoever asks makes its own copy, and all copies tell the same story: the draws belong to the electrode.
 * Stream: 'electrodes/loss', by electrode.
 */
export function contactLosses({ electrodes }: Pick<Scenario, 'electrodes'>, seed: string): ContactLosses {
  const stories = electrodeNames.map((electrode, index) => {
    const { lossesPerS, open } = electrodes[electrode];
    const draws = stream(seed, 'electrodes/loss', index);
    const never = lossesPerS === 0 || open;
    return { never, draws, lossesPerS, fromS: 0, toS: 0 };
  });
  return {
    never: stories.every(({ never }) => never),
    isLost(electrode, timeS) {
      const story = stories[electrodeNames.indexOf(electrode)];
      if (story.never) return false;
      while (story.toS <= timeS) {
        story.fromS = story.toS + nextExponential(story.draws) / story.lossesPerS;
        story.toS = story.fromS + nextLogNormal(story.draws, electrodes.lossS, electrodes.lossLogSd);
      }
      return story.fromS <= timeS;
    },
  };
}
