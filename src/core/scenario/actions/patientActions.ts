import type { Scenario } from '../schema.ts';
import type { Action } from './action.ts';

const HELD_NECK_UV = 50; // µV mean rectified: the least that a lifted head gives, model value

const always = () => null;
const childPresent = ({ child }: Scenario) => (child.present ? null : 'child.present true');
const gazeMatters = ({ response }: Scenario) => (response.kind === 'ovemp' ? null : 'response.kind ovemp');

/** What is done to the patient, or asked of the patient, and to the sound. Sizes and costs are model values. */
export const patientActions: readonly Action[] = [
  {
    id: 'wait',
    label: 'Wait half a minute',
    effect: 'nothing but time: tired muscles and eyes rest, a bored child gets more bored',
    costS: 30,
    lastsS: 0,
    needs: always,
    apply: () => ({}),
  },
  {
    id: 'feed-the-child',
    label: 'Feed the child',
    effect: 'quiet spells last 2.5 times as long, boredom grows half as fast, no more crying',
    costS: 60,
    lastsS: 0,
    needs: childPresent,
    apply: ({ child }) => ({
      'child.quiet.dwellS': Math.min(600, 2.5 * child.quiet.dwellS),
      'child.boredomPerMin': child.boredomPerMin / 2,
      'child.cryingChance': 0,
    }),
  },
  {
    id: 'show-a-film',
    label: 'Show a film without sound',
    effect: 'quiet spells last 1.6 times as long, boredom grows half as fast, but the eyes jump about',
    costS: 10,
    lastsS: 0,
    needs: childPresent,
    apply: ({ child, eyes }) => ({
      'child.quiet.dwellS': Math.min(600, 1.6 * child.quiet.dwellS),
      'child.boredomPerMin': child.boredomPerMin / 2,
      'eyes.saccadesPerS': Math.max(1, eyes.saccadesPerS),
    }),
  },
  {
    id: 'mute-the-sound',
    label: 'Mute the sound',
    effect: 'no answer, no reflex and no stimulus artefact: what is left has nothing to do with the sound',
    costS: 0,
    lastsS: 0,
    needs: always,
    apply: () => ({ 'response.amplitudeScale': 0, 'reflex.peakUv': 0, 'artefact.peakUv': 0 }),
  },
  {
    id: 'pinch-the-tube',
    label: 'Pinch the tube',
    effect: 'no sound in the ear, so no answer and no reflex; the electric artefact stays',
    costS: 0,
    lastsS: 0,
    needs: ({ stimulus }) => (stimulus.transducer === 'insert' ? null : 'stimulus.transducer insert'),
    apply: () => ({ 'response.amplitudeScale': 0, 'reflex.peakUv': 0 }),
  },
  {
    id: 'let-the-sound-through',
    label: 'Let the sound through',
    effect: 'undoes muting and pinching',
    costS: 0,
    lastsS: 0,
    undoes: ['mute-the-sound', 'pinch-the-tube'],
    needs: always,
    apply: () => ({}),
  },
  {
    id: 'mask-the-far-ear',
    label: 'Mask the far ear',
    effect: 'a noise in the far ear lifts its threshold to 20 dB below the stimulus level, at least 40 dB',
    costS: 10,
    lastsS: 0,
    needs: always,
    apply: ({ stimulus }) => ({ 'stimulus.maskingDb': Math.max(40, stimulus.levelDbNhl - 20) }),
  },
  {
    id: 'clench',
    label: 'Ask for a clench',
    effect: 'the jaw is held tight, 60 µV, for three seconds',
    costS: 0,
    lastsS: 3,
    needs: always,
    apply: () => ({ 'muscle.heldUv': 60 }),
  },
  {
    id: 'swallow',
    label: 'Ask for a swallow',
    effect: 'mouth and throat work, 40 µV, for one second',
    costS: 0,
    lastsS: 1,
    needs: always,
    apply: () => ({ 'swallow.heldUv': 40 }),
  },
  {
    id: 'move',
    label: 'Ask for a shift of position',
    effect:
      'the patient moves about, 200 µV of slow pull on electrodes and leads and the muscles at work, for two seconds',
    costS: 0,
    lastsS: 2,
    needs: always,
    apply: () => ({ 'movement.heldUv': 200 }),
  },
  {
    id: 'relax-the-jaw',
    label: 'Ask for a loose jaw',
    effect: 'a fifth of the clenches, and those half as strong',
    costS: 10,
    lastsS: 0,
    needs: ({ muscle }) => (muscle.burstsPerS > 0 ? null : 'muscle.burstsPerS above 0'),
    apply: ({ muscle }) => ({ 'muscle.burstsPerS': muscle.burstsPerS / 5, 'muscle.burstUv': muscle.burstUv / 2 }),
  },
  {
    id: 'lift-the-head',
    label: 'Lift the head',
    effect: 'the neck is held tense: the contraction of a cvemp on its target, muscle noise for everything else',
    costS: 0,
    lastsS: 0,
    undoes: ['lower-the-head'],
    needs: always,
    apply: ({ response, contraction, neck }) =>
      response.kind === 'cvemp'
        ? { 'contraction.meanRectifiedUv': Math.max(contraction.meanRectifiedUv, HELD_NECK_UV) }
        : { 'neck.tonicUv': Math.max(15, neck.tonicUv) },
  },
  {
    id: 'lower-the-head',
    label: 'Lay the head down',
    effect: 'the neck lets go: a twentieth of its activity, and it rests until the head is lifted',
    costS: 0,
    lastsS: 0,
    needs: always,
    apply: ({ response, contraction, neck }) =>
      response.kind === 'cvemp'
        ? { 'contraction.meanRectifiedUv': contraction.meanRectifiedUv / 20 }
        : { 'neck.tonicUv': neck.tonicUv / 20, 'neck.burstsPerS': 0 },
  },
  {
    id: 'look-up',
    label: 'Look up',
    effect: 'the gaze goes 35° up, as an ovemp needs it',
    costS: 0,
    lastsS: 0,
    needs: gazeMatters,
    apply: () => ({ 'gaze.targetDeg': 35 }),
  },
  {
    id: 'look-ahead',
    label: 'Look ahead',
    effect: 'the gaze is level: little of an ovemp is left, and the reflex behind the ear is at its usual size',
    costS: 0,
    lastsS: 0,
    needs: always,
    apply: () => ({ 'gaze.targetDeg': 0, 'reflex.gaze': 'ahead' }),
  },
  {
    id: 'look-aside',
    label: 'Look to the side',
    effect: 'the reflex behind the ear becomes three times as large',
    costS: 0,
    lastsS: 0,
    needs: ({ reflex }) => (reflex.peakUv > 0 ? null : 'reflex.peakUv above 0'),
    apply: () => ({ 'reflex.gaze': 'aside' }),
  },
  {
    id: 'close-the-eyes',
    label: 'Close the eyes',
    effect: 'no blinks and no jumps of the gaze, but an alpha rhythm of 8 µV',
    costS: 0,
    lastsS: 0,
    needs: always,
    apply: ({ eeg }) => ({ 'eyes.blinksPerS': 0, 'eyes.saccadesPerS': 0, 'eeg.alphaUv': Math.max(8, eeg.alphaUv) }),
  },
  {
    id: 'cool-the-room',
    label: 'Cool the room',
    effect: 'a quarter of the sweat potentials',
    costS: 120,
    lastsS: 0,
    needs: ({ skin }) => (skin.sweatUv > 0 ? null : 'skin.sweatUv above 0'),
    apply: ({ skin }) => ({ 'skin.sweatUv': skin.sweatUv / 4 }),
  },
  {
    id: 'give-a-blanket',
    label: 'Give a blanket',
    effect: 'the shivering stops',
    costS: 30,
    lastsS: 0,
    needs: ({ shiver }) => (shiver.muscleUv > 0 ? null : 'shiver.muscleUv above 0'),
    apply: () => ({ 'shiver.muscleUv': 0 }),
  },
];
