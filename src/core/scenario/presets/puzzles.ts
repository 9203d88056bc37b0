/** Cases with something wrong that no averaging repairs. */
export const puzzlePresets = [
  {
    id: 'muscle-behind-the-ear',
    title: 'Muscle behind the ear',
    story: 'Ottilie, 27, looks to the side: a fat wave at 13 to 17 ms answers every click, and it is no brainstem.',
    patient: { ageYears: 27, sex: 'female' },
    window: { postMs: 25, analysisToMs: 22 },
    reflex: { peakUv: 5, probability: 0.8, gaze: 'aside' },
  },
  {
    id: 'crackling-lead',
    title: 'Crackle at the ear',
    story:
      'The earphone lies on the leads, one contact is dry and only one polarity is played: the click is seen before it is heard.',
    stimulus: { transducer: 'supra-aural', polarity: 'rarefaction' },
    window: { analysisFromMs: 0 },
    electrodes: { ipsilateral: { contactFactor: 3 } },
    artefact: { peakUv: 1.5 },
  },
  {
    id: 'far-ear-answers',
    title: 'The other ear answers',
    story: 'Henk, 50, is deaf on the side of the sound; nobody masked the good ear, and it hears a fainter click.',
    patient: { ageYears: 50, sex: 'male' },
    stimulus: { levelDbNhl: 90 },
    hearing: { thresholdsDbHl: [110, 110, 110, 110, 110], crossHearing: true },
  },
  {
    id: 'out-of-step',
    title: 'Nerve out of step',
    story: 'Tove, 19, hears but does not follow speech: hardly a wave, though something rings with every click.',
    patient: { ageYears: 19, sex: 'female' },
    stimulus: { levelDbNhl: 85 },
    response: { kind: 'ecochg' },
    hearing: { desynchrony: { present: true } },
  },
  {
    id: 'exchanged-leads',
    title: 'Exchanged leads',
    story: 'The two ear leads are plugged in for each other: wave I sits in the wrong channel.',
    leads: { swapped: 'sides' },
  },
  {
    id: 'hurried-preparation',
    title: 'Hurried preparation',
    story:
      'One electrode is barely held by its tape: it hums and jumps. To prepare it again takes 40 s; see whether that pays.',
    session: { durationS: 180 },
    mains: { fundamentalUv: 0 },
    room: { bodyCurrentUa: 0.3, leadCurrentNaPerM: 3, fieldUt: 0.2 },
    electrodes: { ipsilateral: { contactFactor: 10, lossesPerS: 0.05 }, contralateral: { stepFactor: 0 } },
    drift: { stepsPerS: 0.1, stepUv: 200 },
    amplifier: { rangeUv: 500 },
  },
] as const;
