/** Sections of a scenario with some of their keys. */
export type Sections = Record<string, Record<string, unknown>>;

/** For each source: what makes it loud and busy, and what silences it. A new source adds its row. */
export const rows: Record<string, { loud: Sections; muted: Sections }> = {
  eeg: { loud: { eeg: { alphaUv: 5 } }, muted: { eeg: { slowUv: 0, alphaUv: 0, floorNvPerRtHz: 0 } } },
  muscle: { loud: { muscle: { burstsPerS: 5, durationS: 0.1 } }, muted: { muscle: { burstsPerS: 0 } } },
  swallow: { loud: { swallow: { burstsPerS: 5, durationS: 0.1 } }, muted: { swallow: { burstsPerS: 0 } } },
  neck: {
    loud: { neck: { tonicUv: 5, burstsPerS: 5, durationS: 0.1, clustering: 0.3 } },
    muted: { neck: { tonicUv: 0, burstsPerS: 0 } },
  },
  brow: { loud: { brow: { burstsPerS: 5, durationS: 0.1 } }, muted: { brow: { burstsPerS: 0 } } },
  'eye-muscle': { loud: { eyes: { muscleUv: 4 } }, muted: { eyes: { muscleUv: 0 } } },
  blink: { loud: { eyes: { blinksPerS: 5, blinkS: 0.1 } }, muted: { eyes: { blinksPerS: 0 } } },
  saccade: { loud: { eyes: { saccadesPerS: 10 } }, muted: { eyes: { saccadesPerS: 0 } } },
  child: {
    loud: {
      child: {
        present: true,
        quiet: { dwellS: 0.2 },
        restless: { dwellS: 0.2 },
        moving: { dwellS: 0.1 },
        crying: { dwellS: 0.1 },
        asleep: { dwellS: 0.2 },
        arousal: { dwellS: 0.1 },
        boredomPerMin: 0.05,
        cryingChance: 0.5,
        sleepChance: 0.2,
        wakingChance: 0.5,
      },
    },
    muted: { child: { present: false } },
  },
  sucking: { loud: { sucking: { present: true, pauseS: 0.5, sucksPerS: 5 } }, muted: { sucking: { present: false } } },
  shiver: { loud: { shiver: { muscleUv: 5 } }, muted: { shiver: { muscleUv: 0 } } },
  movement: { loud: { movement: { burstsPerS: 5, durationS: 0.1 } }, muted: { movement: { burstsPerS: 0 } } },
  heart: { loud: { heart: { qrsUv: 15, beatS: 0.4 } }, muted: { heart: { qrsUv: 0 } } },
  reflex: { loud: { reflex: { peakUv: 5 } }, muted: { reflex: { peakUv: 0 } } },
  breathing: { loud: { breathing: { sizeUv: 20 } }, muted: { breathing: { sizeUv: 0 } } },
  skin: { loud: { skin: { sweatUv: 100 } }, muted: { skin: { sweatUv: 0 } } },
  mains: { loud: { mains: { fundamentalUv: 4 } }, muted: { mains: { fundamentalUv: 0 } } },
  drift: { loud: { drift: { stepsPerS: 5 } }, muted: { drift: { walkUvPerRtS: 0, stepsPerS: 0 } } },
  'contact-jump': {
    loud: { electrodes: { common: { lossesPerS: 1 }, contralateral: { lossesPerS: 1 }, lossS: 0.2, lossJumpUv: 100 } },
    muted: { electrodes: { lossJumpUv: 0 } },
  },
  'lead-movement': { loud: { leadMovement: { knocksPerS: 5 } }, muted: { leadMovement: { knocksPerS: 0 } } },
  artefact: { loud: { artefact: { peakUv: 5 } }, muted: { artefact: { peakUv: 0 } } },
  diathermy: {
    loud: { diathermy: { burstsPerS: 1, shortestS: 0.1, longestS: 0.3 } },
    muted: { diathermy: { burstsPerS: 0 } },
  },
  pickup: {
    loud: {
      room: { bodyCurrentUa: 0.5, leadCurrentNaPerM: 5, fieldUt: 0.2, lampFieldUt: 0.1 },
      electrodes: { ipsilateral: { contactFactor: 3, lossesPerS: 0.5 }, lossS: 0.2 },
    },
    muted: { room: { bodyCurrentUa: 0, leadCurrentNaPerM: 0, fieldUt: 0, lampFieldUt: 0 } },
  },
  switching: { loud: { room: { switchingsPerS: 5 } }, muted: { room: { switchingsPerS: 0 } } },
  thermal: { loud: { electrodes: { thermalNoise: true } }, muted: { electrodes: { thermalNoise: false } } },
  current: {
    loud: { amplifier: { currentNoiseFaPerRtHz: 100 } },
    muted: { amplifier: { currentNoiseFaPerRtHz: 0 } },
  },
  amplifier: { loud: { amplifier: { flickerCornerHz: 50 } }, muted: { amplifier: { noiseNvPerRtHz: 0 } } },
};

/** Puts documents together; keys of later ones win within a section. */
export function joined(...documents: Sections[]): Sections {
  const all: Sections = {};
  for (const document of documents) {
    for (const [section, keys] of Object.entries(document)) all[section] = { ...all[section], ...keys };
  }
  return all;
}

/** Every source at once, and often: within two seconds each of them has something to say. */
export const everything = joined(...Object.values(rows).map(({ loud }) => loud));
