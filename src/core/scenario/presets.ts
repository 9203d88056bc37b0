/**
 * Patients of our own invention. Each is a partial scenario; what is not said has the default of the schema.
 * Names and stories are fictional; the sizes are model values.
 */
export const presets = [
  {
    id: 'quiet-sleeper',
    title: 'Quiet sleeper',
    story: 'Ines, 24, asleep in a recliner. Nothing goes wrong: no clever strategy can beat the plain mean here.',
  },
  {
    id: 'restless-child',
    title: 'Restless, calm enough',
    story: 'Noor, 3 years, on a lap: mostly quiet, then restless, then moving. Patience lasts four minutes.',
    session: { durationS: 240 },
    stimulus: { levelDbNhl: 60, ratePerS: 39.1 },
    response: { amplitudeScale: 0.8 },
    eeg: { slowUv: 8 },
    child: { present: true },
    amplifier: { rangeUv: 1000 },
  },
  {
    id: 'jaw-clencher',
    title: 'Jaw clencher',
    story: 'Tomas, 35, awake and tense: he swallows and clenches every few seconds.',
    session: { durationS: 180 },
    muscle: { burstsPerS: 0.25 },
    amplifier: { rangeUv: 1000 },
  },
  {
    id: 'locked-line',
    title: 'Locked line pickup',
    story: 'An old surgery room, and a stimulus rate that divides the line frequency. Every average keeps the hum.',
    session: { durationS: 100 },
    stimulus: { ratePerS: 25 },
    mains: { fundamentalUv: 4 },
  },
  {
    id: 'drifting-electrode',
    title: 'Drifting electrode',
    story: 'A warm room and a poorly prepared electrode: slow potentials wander and now and then jump.',
    drift: { walkUvPerRtS: 60, stepsPerS: 0.2, stepUv: 400 },
    amplifier: { rangeUv: 2000, couplingHz: 0.1 },
    filter: { highPassHz: 30, highPassOrder: 1 },
    averaging: { baseline: 'pre-stimulus' },
  },
  {
    id: 'overloaded-amplifier',
    title: 'Overloaded amplifier',
    story:
      'The gain is too high and a lead is loose: steps pin the first stage at its rail, and pinned sweeps look quiet.',
    drift: { stepsPerS: 0.08, stepUv: 600, stepRecoveryS: 1.5 },
    amplifier: { rangeUv: 50, couplingHz: 0.05, recoveryMs: 150, blockingMs: 20 },
    converter: { guardMs: 450 },
  },
  {
    id: 'graded-muscle',
    title: 'Graded muscle noise',
    story: 'A neck that is never quite at ease: muscle noise changes in steps between three levels.',
    session: { durationS: 180 },
    child: {
      present: true,
      quiet: { dwellS: 10, muscleUv: 3 },
      restless: { dwellS: 14, muscleUv: 9 },
      moving: { dwellS: 4, muscleUv: 40 },
    },
    amplifier: { rangeUv: 1000 },
  },
  {
    id: 'silent-ear',
    title: 'No response at all',
    story: 'The sound is on, the ear does not answer. Whatever stands up in the average is noise.',
    response: { kind: 'none' },
  },
  {
    id: 'faint-click',
    title: 'Faint click',
    story: 'Bram, 41, near his threshold: 35 dB nHL, a small late wave V and nothing before it.',
    session: { durationS: 300 },
    stimulus: { levelDbNhl: 35, ratePerS: 31 },
  },
] as const;

/** The preset that a newcomer sees first. */
export const DEFAULT_PRESET = 'jaw-clencher';

/** Finds a preset by its id. @throws {RangeError} naming the choices */
export function preset(id: string): object {
  const found = presets.find((entry) => entry.id === id);
  if (found) return found;
  throw new RangeError(`unknown scenario "${id}"; one of ${presets.map((entry) => entry.id).join(', ')}`);
}
