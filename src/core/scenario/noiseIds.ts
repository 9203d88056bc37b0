/** Names of the noise sources, for `session.mute`; a test holds them to the registry in `noise/index.ts`. */
export const noiseIds = ['eeg', 'muscle', 'child', 'mains', 'drift', 'amplifier'] as const;
