import { actions } from '../../core/scenario/actions.ts';
import { resolveScenario } from '../../core/scenario/resolve.ts';
import type { Scenario } from '../../core/scenario/schema.ts';

/** Something that can be done about a bad average, before it is recorded again. Ids are stored in files: never renamed. */
export interface DrillRemedy {
  id: string;
  label: string;
  effect: string;
  /** The patient's time that it takes, s. */
  costS: number;
  /** The keys that change, by their full path. @param now - what holds just before */
  apply(now: Scenario): Record<string, unknown>;
}

const SETTING_S = 2; // s, our choice: a turn of a knob is not for nothing

/** What is set at the instrument, or asked for beside the actions of a session. Sizes and costs are model values. */
const furtherRemedies: readonly DrillRemedy[] = [
  {
    id: 'reject-more',
    label: 'Reject at half the limit',
    effect: 'the average judged is that of threshold rejection, at half of its limit',
    costS: SETTING_S,
    apply: ({ averaging }) => withRejection(averaging.thresholdRejection.thresholdUv / 2),
  },
  {
    id: 'reject-less',
    label: 'Reject at five times the limit',
    effect: 'the average judged is that of threshold rejection, at five times its limit',
    costS: SETTING_S,
    apply: ({ averaging }) => withRejection(5 * averaging.thresholdRejection.thresholdUv),
  },
  {
    id: 'take-another-rate',
    label: 'Take 31 stimuli a second',
    effect: 'a rate that keeps clear of whole and half fractions of 50 and 60 Hz',
    costS: SETTING_S,
    apply: () => ({ 'stimulus.ratePerS': 31 }),
  },
  {
    id: 'widen-the-range',
    label: 'Widen the range',
    effect: 'twenty times the range, so a twentieth of the gain',
    costS: SETTING_S,
    apply: ({ amplifier }) => ({ 'amplifier.rangeUv': Math.min(100000, 20 * amplifier.rangeUv) }),
  },
  {
    id: 'narrow-the-range',
    label: 'Narrow the range',
    effect: 'a hundredth of the range, so a hundred times the gain',
    costS: SETTING_S,
    apply: ({ amplifier }) => ({ 'amplifier.rangeUv': Math.max(1, amplifier.rangeUv / 100) }),
  },
  {
    id: 'usual-filters',
    label: 'Set the usual filters',
    effect: 'the band that is usual for this response',
    costS: SETTING_S,
    apply: ({ response, converter }) => {
      const { filter } = resolveScenario({ response: { kind: response.kind }, converter: { ...converter } });
      return Object.fromEntries(Object.entries(filter).map(([key, value]) => [`filter.${key}`, value]));
    },
  },
  {
    id: 'raise-the-corner',
    label: 'Raise the lower corner',
    effect: 'three times the lower corner of the filters',
    costS: SETTING_S,
    apply: ({ filter }) => ({ 'filter.highPassHz': Math.min(filter.lowPassHz / 2, 3 * filter.highPassHz) }),
  },
  {
    id: 'take-the-notch',
    label: 'Take the notch',
    effect: 'a filter against the line frequency, not against its harmonics',
    costS: SETTING_S,
    apply: ({ mains }) => ({ 'filter.notchHz': mains.lineHz }),
  },
  {
    id: 'alternate-the-polarity',
    label: 'Alternate the polarity',
    effect: 'every other sound upside down',
    costS: SETTING_S,
    apply: () => ({ 'stimulus.polarity': 'alternating' }),
  },
  {
    id: 'raise-the-level',
    label: 'Raise the level by 10 dB',
    effect: 'a louder sound',
    costS: SETTING_S,
    apply: ({ stimulus }) => ({ 'stimulus.levelDbNhl': Math.min(100, stimulus.levelDbNhl + 10) }),
  },
  {
    id: 'check-the-tube',
    label: 'Check earphone and tube',
    effect: 'no kink, no plug of wax, the tip where it belongs',
    costS: 15,
    apply: () => ({ 'response.amplitudeScale': 1 }),
  },
  {
    id: 'move-the-transducer-away',
    label: 'Move the transducer away from the leads',
    effect: 'a fiftieth of what it radiates into them',
    costS: 10,
    apply: ({ artefact }) => ({ 'artefact.peakUv': artefact.peakUv / 50 }),
  },
  {
    id: 'tape-the-leads-down',
    label: 'Tape the leads down',
    effect: 'nothing swings any more',
    costS: 15,
    apply: () => ({ 'leadMovement.knocksPerS': 0 }),
  },
  {
    id: 'let-the-gel-soak-in',
    label: 'Let the gel soak in',
    effect: 'a minute later the contacts drift a tenth as much',
    costS: 60,
    apply: ({ drift }) => ({ 'drift.walkUvPerRtS': drift.walkUvPerRtS / 10 }),
  },
  {
    id: 'offer-a-sip',
    label: 'Offer a sip of water',
    effect: 'a twentieth of the swallows',
    costS: 20,
    apply: ({ swallow }) => ({ 'swallow.burstsPerS': swallow.burstsPerS / 20 }),
  },
  {
    id: 'smooth-the-brow',
    label: 'Ask for a smooth forehead',
    effect: 'a twentieth of the frowns',
    costS: 5,
    apply: ({ brow }) => ({ 'brow.burstsPerS': brow.burstsPerS / 20 }),
  },
  {
    id: 'take-the-dummy-out',
    label: 'Take the dummy out',
    effect: 'no more sucking',
    costS: 15,
    apply: () => ({ 'sucking.present': false }),
  },
  {
    id: 'ask-to-lie-still',
    label: 'Ask to lie still',
    effect: 'a twentieth of the movements',
    costS: 5,
    apply: ({ movement }) => ({ 'movement.burstsPerS': movement.burstsPerS / 20 }),
  },
  {
    id: 'keep-the-knife-off',
    label: 'Ask the surgeon to keep the knife off',
    effect: 'no knife for the length of a recording',
    costS: 30,
    apply: () => ({ 'diathermy.burstsPerS': 0 }),
  },
];

/** Every remedy that a drill may offer: the actions of a session, and what is set or asked for beside them. */
export const drillRemedies: readonly DrillRemedy[] = [
  ...actions.map(({ id, label, effect, costS, needs, apply }) => ({
    id,
    label,
    effect,
    costS,
    // What makes no sense changes nothing: a refusal would tell the learner what is not the matter.
    apply: (now: Scenario) => (needs(now) === null ? apply(now, 'none') : {}),
  })),
  ...furtherRemedies,
];

/** Finds a remedy by its id. @throws {RangeError} naming the choices */
export function drillRemedy(id: string): DrillRemedy {
  const found = drillRemedies.find((entry) => entry.id === id);
  if (found) return found;
  throw new RangeError(`remedy: must be one of ${drillRemedies.map((entry) => entry.id).join(', ')}, got "${id}"`);
}

/** Puts threshold rejection first among the lanes: it is the first lane that a drill judges. */
function withRejection(thresholdUv: number): Record<string, unknown> {
  return {
    lanes: [{ strategy: 'threshold-rejection' }, { strategy: 'plain-mean' }],
    'averaging.thresholdRejection.thresholdUv': Math.max(0.1, thresholdUv),
  };
}
