/** One patient for each response that is not a click ABR, with the usual session for it. */
export const responsePresets = [
  {
    id: 'tone-threshold',
    title: 'Tone by tone',
    story: 'Lior, 7 weeks, asleep: a tone burst of 1 kHz at 40 dB nHL, not far above what he hears.',
    stimulus: { levelDbNhl: 40, ratePerS: 39.1 },
    patient: { infant: { present: true, weeksPastTerm: 7 } },
    response: { kind: 'tone-abr' },
    eeg: { state: 'infant-asleep' },
  },
  {
    id: 'fluctuating-ear',
    title: 'Ear under pressure',
    story:
      'Vera, 44, has an ear that comes and goes, and today low tones are dull: the summating potential is more than half of the action potential.',
    patient: { ageYears: 44, sex: 'female' },
    response: { kind: 'ecochg' },
    hearing: { thresholdsDbHl: [45, 40, 25, 20, 20] },
    ecochg: { summatingRatio: 0.55 },
    session: { durationS: 600 },
    electrodes: { ipsilateral: { type: 'canal' }, contralateral: { type: 'canal' }, thermalNoise: true },
  },
  {
    id: 'held-neck',
    title: 'Neck on the meter',
    story: 'Samir, 29, keeps his neck on the target: 120 µV, and every loud burst makes it pause for a moment.',
    patient: { ageYears: 29, sex: 'male' },
    response: { kind: 'cvemp' },
  },
  {
    id: 'eyes-up',
    title: 'Eyes up',
    story: 'Yara, 33, looks up for ten seconds at a time and blinks: the answer lies under the other eye.',
    patient: { ageYears: 33, sex: 'female' },
    response: { kind: 'ovemp' },
    eyes: { muscleUv: 4, blinksPerS: 0.1 },
  },
  {
    id: 'middle-latency',
    title: 'Middle-latency response',
    story: 'Edda, 38, awake with her eyes closed: half a microvolt at 30 ms, on top of her alpha rhythm.',
    patient: { ageYears: 38, sex: 'female' },
    response: { kind: 'middle-latency' },
    eeg: { alphaUv: 6 },
  },
  {
    id: 'slow-cortex',
    title: 'Cortical response',
    story: 'Ruben, 61, reads while a tone comes every two seconds: large and slow, like what his eyes add to it.',
    patient: { ageYears: 61, sex: 'male' },
    response: { kind: 'cortical' },
    eyes: { saccadesPerS: 0.5, blinksPerS: 0.1 },
  },
  {
    id: 'steady-tone',
    title: 'Steady tone',
    story: 'Nils, 26, dozes while a tone beats forty times a second: one sweep is a second long.',
    patient: { ageYears: 26, sex: 'male' },
    response: { kind: 'steady-state' },
    eeg: { gainLogSd: 0.2, gainMemoryS: 20 }, // now more, now less awake
  },
] as const;
