/** Names of the noise sources; a test holds them to the registry in `noise/index.ts`. */
export const noiseIds = [
  'eeg',
  'muscle',
  'swallow',
  'neck',
  'brow',
  'eye-muscle',
  'blink',
  'saccade',
  'child',
  'sucking',
  'shiver',
  'movement',
  'heart',
  'reflex',
  'breathing',
  'skin',
  'mains',
  'drift',
  'contact-jump',
  'lead-movement',
  'artefact',
  'diathermy',
  'pickup',
  'switching',
  'thermal',
  'current',
  'amplifier',
] as const;

/** What `session.mute` may leave out: the sources, and the random firing of a muscle that belongs to its response. */
export const muteIds = [...noiseIds, 'firing'] as const;
