// Over 300 lines because it is one literal list.
import type { Scenario } from '../../core/scenario/schema.ts';

/** Something that can be to blame for a bad average. Ids are stored in files: never renamed. */
export interface DrillSource {
  id: string;
  /** As the learner chooses it. */
  label: string;
  /** What gives it away. */
  sign: string;
  /** Keys, or groups of keys, that go back to what they should be when this source is put right. */
  paths: readonly string[];
  /** The noise source through which it comes in; null if it changes or bends the response itself. */
  noise: Scenario['session']['mute'][number] | null;
  /** The source is to blame only if its first key is off in this direction. */
  off?: 'above' | 'below';
}

const contacts = ['common', 'ipsilateral', 'contralateral', 'ground'] as const;
const ofContacts = (key: string) => contacts.map((contact) => `electrodes.${contact}.${key}`);

/** Every source that a drill may offer. */
export const drillSources: readonly DrillSource[] = [
  {
    id: 'field',
    label: 'Magnetic field through the loop of the leads',
    sign: 'hum in both channels alike, whatever the contacts: it grows with the area between the leads',
    paths: ['room.fieldUt', 'leads.loopM2PerM'],
    noise: 'pickup',
  },
  {
    id: 'lead-current',
    label: 'Displacement current into the leads',
    sign: 'hum from bare leads beside a cable: it grows with the length of the wire and with unequal contacts',
    paths: ['room.leadCurrentNaPerM', 'leads.lengthM', 'leads.shieldFactor'],
    noise: 'pickup',
  },
  {
    id: 'body-current',
    label: 'Displacement current into the body',
    sign: 'hum that the body carries as a whole; the amplifier rejects what both inputs share, and not quite all of it',
    paths: ['room.bodyCurrentUa'],
    noise: 'pickup',
  },
  {
    id: 'lamps',
    label: 'Lamps and their ballasts',
    sign: 'hum at twice the line frequency: an even number of ripples for each of the supply',
    paths: ['room.lampFieldUt'],
    noise: 'pickup',
  },
  {
    id: 'isolation',
    label: 'Mains supply of the amplifier',
    sign: 'hum that goes when the plug is pulled: it came through the isolation of the amplifier',
    paths: ['amplifier.supply', 'amplifier.isolationCurrentUa'],
    noise: 'pickup',
  },
  {
    id: 'rate',
    label: 'A rate that is locked to the supply',
    sign: 'a little hum that does not shrink with the sweeps: each one sees it at the same place',
    paths: ['stimulus.ratePerS'],
    noise: 'pickup',
  },
  {
    id: 'switching',
    label: 'Pumps or motors that switch',
    sign: 'single sharp strokes, far apart, in both channels at once',
    paths: ['room.switchingsPerS', 'room.switchingUv'],
    noise: 'switching',
  },
  {
    id: 'diathermy',
    label: 'The electric knife',
    sign: 'seconds of roar from one moment to the next, then silence',
    paths: ['diathermy'],
    noise: 'diathermy',
  },
  {
    id: 'dry-contact',
    label: 'A dry or hurried contact',
    sign: 'one channel hums more than the other: unequal contacts turn what the body carries into voltage',
    paths: ofContacts('contactFactor'),
    noise: 'pickup',
  },
  {
    id: 'loose-contact',
    label: 'A contact that lets go',
    sign: 'the trace leaps, and for a while after it nothing is right',
    paths: [...ofContacts('lossesPerS'), 'drift.stepsPerS', 'drift.stepUv'],
    noise: 'drift',
  },
  {
    id: 'dead-electrode',
    label: 'An electrode that is off or broken',
    sign: 'hum without measure in the channels of that electrode, and no response in them',
    paths: ofContacts('open'),
    noise: null,
  },
  {
    id: 'exchanged-leads',
    label: 'Two leads plugged in for each other',
    sign: 'clean waves of the wrong size and order: each channel shows what belongs to another',
    paths: ['leads.swapped'],
    noise: null,
  },
  {
    id: 'reversed-leads',
    label: 'Inputs plus and minus exchanged',
    sign: 'a clean response, upside down',
    paths: ['leads.reversed'],
    noise: null,
  },
  {
    id: 'lead-movement',
    label: 'Leads that are knocked or swing',
    sign: 'single swings that die away in some tenths of a second, in one channel at a time',
    paths: ['leadMovement'],
    noise: 'lead-movement',
  },
  {
    id: 'range-too-small',
    label: 'A range that is too small',
    sign: 'flat tops at the rail, and then a tail: pinned sweeps look quiet and are worthless',
    paths: ['amplifier.rangeUv', 'amplifier.recoveryMs', 'amplifier.blockingMs', 'averaging.respectFlags'],
    noise: null,
    off: 'below',
  },
  {
    id: 'coarse-converter',
    label: 'Steps of the converter that are too coarse',
    sign: 'a raw trace that moves in stairs: the response is smaller than one of them',
    paths: ['amplifier.rangeUv'],
    noise: null,
    off: 'above',
  },
  {
    id: 'filter-corner',
    label: 'Filters of another response',
    sign: 'the whole response has another shape and other latencies, and it repeats well',
    paths: ['filter'],
    noise: null,
  },
  {
    id: 'rejection-limit',
    label: 'A rejection limit that is too tight',
    sign: 'few sweeps pass, and those that pass are not typical',
    paths: ['averaging.thresholdRejection.thresholdUv'],
    noise: null,
    off: 'below',
  },
  {
    id: 'no-sound',
    label: 'No sound in the ear',
    sign: 'quiet noise that shrinks as it should, and nothing under it',
    paths: ['response.amplitudeScale'],
    noise: null,
  },
  {
    id: 'artefact',
    label: 'What the transducer radiates',
    sign: 'a peak at the moment of the electric pulse, before anything can have been heard',
    paths: ['artefact'],
    noise: 'artefact',
  },
  {
    id: 'microphonic',
    label: 'Cochlear microphonic',
    sign: 'it follows the sound wave: turned over when the sound is turned over, gone when the tube is pinched',
    paths: ['ecochg.microphonicUv', 'stimulus.polarity'],
    noise: null,
  },
  {
    id: 'drift',
    label: 'Drifting electrodes',
    sign: 'the trace wanders off by hundreds of microvolts and comes back when it likes',
    paths: ['drift.walkUvPerRtS'],
    noise: 'drift',
  },
  {
    id: 'sweat',
    label: 'Sweating skin',
    sign: 'slow waves of several seconds in a warm room',
    paths: ['skin'],
    noise: 'skin',
  },
  {
    id: 'breathing',
    label: 'Breathing that moves the electrodes',
    sign: 'a slow wave with the rhythm of the chest',
    paths: ['breathing'],
    noise: 'breathing',
  },
  {
    id: 'clench',
    label: 'Clenching of the jaw',
    sign: 'bursts of broad noise for about a second, every few seconds',
    paths: ['muscle'],
    noise: 'muscle',
  },
  {
    id: 'neck',
    label: 'A tense neck',
    sign: 'broad noise that is always there and changes its level every half minute',
    paths: ['neck'],
    noise: 'neck',
  },
  {
    id: 'brow',
    label: 'A frowning brow',
    sign: 'bursts of noise with a rhythm near 30 Hz',
    paths: ['brow'],
    noise: 'brow',
  },
  {
    id: 'swallow',
    label: 'Swallowing',
    sign: 'bursts of about a second, always the same length, strong in both channels',
    paths: ['swallow'],
    noise: 'swallow',
  },
  {
    id: 'shiver',
    label: 'Shivering',
    sign: 'muscle noise that swells ten times a second, without end',
    paths: ['shiver'],
    noise: 'shiver',
  },
  {
    id: 'sucking',
    label: 'Sucking',
    sign: 'short bursts, one and a half a second, in bouts',
    paths: ['sucking'],
    noise: 'sucking',
  },
  {
    id: 'restless-child',
    label: 'A child who is bored or hungry',
    sign: 'quiet spells that get shorter, then movement and perhaps tears',
    paths: ['child'],
    noise: 'child',
  },
  {
    id: 'movement',
    label: 'Gross movement',
    sign: 'large slow swings with muscle noise on top',
    paths: ['movement'],
    noise: 'movement',
  },
  {
    id: 'blinks',
    label: 'Blinking',
    sign: 'single bells of a quarter of a second, the largest under the eye',
    paths: ['eyes.blinksPerS', 'eyes.blinkUv'],
    noise: 'blink',
  },
  {
    id: 'eye-jumps',
    label: 'Jumps of the gaze',
    sign: 'small steps up and down, where the patient reads or watches something',
    paths: ['eyes.saccadesPerS', 'eyes.saccadeUv'],
    noise: 'saccade',
  },
  {
    id: 'heart',
    label: 'The heart',
    sign: 'one sharp stroke for every pulse',
    paths: ['heart'],
    noise: 'heart',
  },
  {
    id: 'reflex',
    label: 'The muscle behind the ear',
    sign: 'a fat wave at 12 to 18 ms, larger with the eyes to the side, locked to the sound',
    paths: ['reflex'],
    noise: 'reflex',
  },
  {
    id: 'gaze',
    label: 'A gaze that is not up',
    sign: 'a small response that shrinks during a train: the muscle is not under the electrode',
    paths: ['gaze'],
    noise: null,
  },
  {
    id: 'slack-neck',
    label: 'A neck that is not held',
    sign: 'a quiet trace and hardly a response: no contraction, nothing to modulate',
    paths: ['contraction'],
    noise: null,
  },
  {
    id: 'cross-hearing',
    label: 'The other ear',
    sign: 'a small late response to a loud sound in a deaf ear',
    paths: ['hearing', 'stimulus.maskingDb'],
    noise: null,
  },
  {
    id: 'alpha',
    label: 'Alpha rhythm of the brain',
    sign: 'ten waves a second, with the eyes closed and the patient awake',
    paths: ['eeg.alphaUv'],
    noise: 'eeg',
  },
  {
    id: 'background',
    label: 'Nothing but the EEG',
    sign: 'noise without any pattern, which shrinks with the root of the sweeps',
    paths: ['eeg.state', 'eeg.slowUv'],
    noise: 'eeg',
  },
];

/** Finds a source by its id. @throws {RangeError} naming the choices */
export function drillSource(id: string): DrillSource {
  const found = drillSources.find((entry) => entry.id === id);
  if (found) return found;
  throw new RangeError(`source: must be one of ${drillSources.map((entry) => entry.id).join(', ')}, got "${id}"`);
}
