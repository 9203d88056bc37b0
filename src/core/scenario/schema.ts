import { type Static, type TNumber, Type } from '@sinclair/typebox';
import { eventsSchema } from './events.ts';
import { muteIds } from './noiseIds.ts';
import { choice, quantity, section, wholeNumber } from './quantity.ts';
import { child } from './sections/child.ts';
import { contraction } from './sections/contraction.ts';
import { cortical } from './sections/cortical.ts';
import { disturbanceSections } from './sections/disturbances.ts';
import { ecochg } from './sections/ecochg.ts';
import { electrodes } from './sections/electrodes.ts';
import { gaze } from './sections/gaze.ts';
import { hearing } from './sections/hearing.ts';
import { lanesSchema } from './sections/lanes.ts';
import { leads } from './sections/leads.ts';
import { measures } from './sections/measures.ts';
import { patient } from './sections/patient.ts';
import { response } from './sections/response.ts';
import { room } from './sections/room.ts';
import { stimulus } from './sections/stimulus.ts';
import { strategySections } from './sections/strategies.ts';
import { vestibular } from './sections/vestibular.ts';

/**
 * The scenario document: everything that can change a bit of a recording, except the seed.
 *
 * Each key carries its unit. Each entry carries its default, its bounds and a line of help; the page's controls, the
 * terminal's `scenarios --keys` and the error messages are all made from them. Where no source is named, a default is
 * a model value: plausible for teaching, not normative, not for clinical use.
 */

export const scenarioSchema = Type.Object(
  {
    version: Type.Literal(1, { default: 1, description: 'version of this document format' }),
    id: Type.String({ default: 'custom', pattern: '^[a-z0-9-]+$', description: 'short name: a-z, 0-9 and -' }),
    title: Type.String({ default: 'Untitled patient', description: 'one line for lists' }),
    story: Type.String({ default: '', description: 'who lies there, in two sentences' }),

    session: section('how long, and what for', {
      durationS: quantity('s', 120, 1, 7200, 'stimulation time'),
      targetNv: quantity('nV rms', 40, 1, 100000, 'residual noise at which a strategy has arrived'),
      mute: Type.Array(choice('eeg', [...muteIds], 'a source of noise'), {
        default: [],
        maxItems: muteIds.length,
        description: 'sources left out of the recording; all others stay as they were, to the bit',
      }),
    }),

    patient,
    hearing,
    stimulus,
    response,
    ecochg,
    vestibular,
    contraction,
    gaze,
    cortical,

    eeg: section('background activity of the brain', {
      state: choice(
        'relaxed',
        ['deep-sleep', 'relaxed', 'alert', 'infant-asleep'],
        'vigilance: scales the sizes below, × 0.7, 1, 1.5 or 1.4 with slow waves',
      ),
      slowUv: quantity('µV rms', 6, 0, 200, 'slow activity over all frequencies'),
      cornerHz: quantity('Hz', 12, 0.5, 100, 'above this the slow activity falls by 6 dB per octave'),
      alphaUv: quantity('µV rms', 0, 0, 100, 'alpha rhythm at 10 Hz (eyes closed, awake)'),
      floorNvPerRtHz: quantity('nV/√Hz', 12, 0, 500, 'flat part of the spectrum'),
      gainLogSd: quantity('ln', 0.08, 0, 1, 'slow swell and fade; 0.2 over 20 s: dozing off'),
      gainMemoryS: quantity('s', 5, 1, 600, 'how long a swell lasts'),
      channelCorrelation: quantity('', 0.6, 0, 1, 'likeness of the two channels'),
    }),

    muscle: section('bursts of muscle activity: clenches, swallows', {
      burstsPerS: quantity('1/s', 0, 0, 5, 'mean number of bursts per second (Poisson)'),
      durationS: quantity('s', 0.8, 0.05, 60, 'median length of a burst'),
      durationLogSd: quantity('ln', 0.6, 0, 2, 'log-normal scatter of the length'),
      burstUv: quantity('µV rms', 25, 0, 2000, 'median size of a burst'),
      burstLogSd: quantity('ln', 0.6, 0, 2, 'log-normal scatter of the size'),
      lowHz: quantity('Hz', 60, 1, 1000, 'lower corner of the muscle spectrum'),
      highHz: quantity('Hz', 220, 10, 4000, 'upper corner of the muscle spectrum'),
      contralateralGain: quantity('×', 0.8, 0, 5, 'size in the contralateral channel'),
      heldUv: quantity('µV rms', 0, 0, 2000, 'a clench without end: for events that ask for a clench'),
      unitsPerS: quantity(
        '1/s',
        0,
        0,
        5000,
        'firings seen one by one, as through a needle: about 60; 0: countless, as on the skin',
      ),
    }),

    child,
    ...disturbanceSections,

    mains: section('pickup from the electric supply', {
      lineHz: quantity('Hz', 50, 40, 70, 'frequency of the supply'),
      fundamentalUv: quantity('µV peak', 0.2, 0, 5000, 'size of the first harmonic at the electrodes'),
      harmonicRatios: Type.Array(Type.Number({ minimum: 0, maximum: 10 }), {
        default: [1, 0.15, 0.4, 0.1, 0.2, 0, 0.08],
        minItems: 1,
        maxItems: 12,
        unit: '×',
        description: 'size of harmonics 1, 2, 3 … relative to the first',
      }),
      wanderHz: quantity('Hz rms', 0.02, 0, 1, 'slow wander of the supply frequency'),
      wanderMemoryS: quantity('s', 30, 1, 600, 'how long a wander lasts'),
      contralateralGain: quantity('×', 0.8, 0, 5, 'size in the contralateral channel'),
    }),

    drift: section('slow potentials of the electrodes', {
      walkUvPerRtS: quantity('µV/√s', 3, 0, 1000, 'random walk of each electrode'),
      stepsPerS: quantity('1/s', 0, 0, 5, 'sudden steps of a poor contact (Poisson)'),
      stepUv: quantity('µV', 50, 0, 20000, 'median size of a step'),
      stepRecoveryS: quantity('s', 2, 0.01, 60, 'time constant with which a step fades'),
    }),

    electrodes,
    leads,
    room,

    amplifier: section('first stage: noise, range and overload', {
      noiseNvPerRtHz: quantity('nV/√Hz', 10, 0, 500, 'white voltage noise'),
      flickerCornerHz: quantity('Hz', 10, 0, 1000, 'below this the 1/f noise is larger than the white noise'),
      currentNoiseFaPerRtHz: quantity(
        'fA/√Hz',
        0,
        0,
        10000,
        'noise current into each electrode; 0 for none, usual 100; multiplied by the impedance of the contact',
      ),
      commonModeRejectionDb: quantity(
        'dB',
        110,
        40,
        160,
        'common-mode rejection up to 200 Hz, then 6 dB less per octave',
      ),
      inputMohm: quantity('MΩ', 1000, 1, 100000, 'resistance of each input to the amplifier ground'),
      inputPf: quantity('pF', 200, 1, 10000, 'capacitance of each input and its cable to the amplifier ground'),
      supply: choice('battery', ['battery', 'mains'], 'what feeds it; mains lets a current through its isolation'),
      isolationCurrentUa: quantity('µA peak', 0.1, 0, 10, 'current through the isolation when fed from the mains'),
      couplingHz: quantity('Hz', 0.5, 0.01, 100, 'corner of the input coupling, before the gain'),
      rangeUv: quantity('µV', 100, 1, 100000, 'largest input, ±; a smaller range is a higher gain'),
      recoveryMs: quantity('ms', 50, 1, 2000, 'time constant of the tail after an overload'),
      blockAfterMs: quantity('ms', 5, 0.1, 1000, 'an overload longer than this blocks the stage'),
      blockingMs: quantity('ms', 0, 0, 500, 'how long the output stays frozen after such an overload'),
    }),

    converter: section('sampling', {
      sampleRateHz: quantity('Hz', 16000, 1000, 64000, 'samples per second and channel'),
      bits: wholeNumber('bit', 16, 8, 24, 'resolution over the range of the amplifier'),
      guardMs: quantity('ms', 150, 0, 5000, 'how long the over-range flag stays up; at least 3 × recoveryMs'),
      guardFilters: Type.Boolean({
        default: false,
        description: 'flag also the sweeps into which the digital filters carry an over-range',
      }),
      antiAlias: Type.Boolean({
        default: false,
        description: 'low-pass of order 4 at 0.4 × sampleRateHz before the converter',
      }),
      dither: Type.Boolean({ default: false, description: 'triangular noise of ±1 code before rounding' }),
    }),

    filter: section('digital filters on the continuous recording', {
      family: choice(
        'butterworth',
        ['butterworth', 'bessel'],
        'shape of high-pass and low-pass: flat, or even in delay',
      ),
      phase: choice(
        'causal',
        ['causal', 'zero-phase'],
        'forwards; or forwards and backwards: no delay, twice the order, −6 dB at the corners',
      ),
      highPassHz: quantity('Hz', 100, 0.05, 2000, 'lower corner, −3 dB'),
      highPassOrder: wholeNumber('', 2, 1, 8, 'order of the high-pass: 6 dB per octave each'),
      lowPassHz: quantity('Hz', 1500, 10, 30000, 'upper corner, −3 dB'),
      lowPassOrder: wholeNumber('', 2, 1, 8, 'order of the low-pass: 6 dB per octave each'),
      notchHz: quantity('Hz', 0, 0, 1000, 'frequency that a notch removes; 0 for no notch'),
      notchQ: quantity('', 20, 1, 100, 'sharpness of the notch: frequency / width'),
    }),

    window: section('the piece of recording around each stimulus', {
      preMs: quantity('ms', 5, 0, 500, 'kept before the stimulus'),
      postMs: quantity('ms', 15, 1, 2000, 'kept after the stimulus'),
      analysisFromMs: quantity('ms', 1, -500, 2000, 'residual noise and gain are measured from here'),
      analysisToMs: quantity('ms', 12, -500, 2000, '… to here'),
    }),

    averaging: section('what the strategies are given, and how they are set', {
      channel: choice('ipsilateral', ['ipsilateral', 'contralateral'], 'channel on which the strategies compete'),
      respectFlags: Type.Boolean({ default: true, description: 'sweeps flagged over-range are left out by all' }),
      baseline: choice(
        'none',
        ['none', 'pre-stimulus', 'linear'],
        'none; subtract the mean before the stimulus; or subtract the straight line through the sweep',
      ),
      ...strategySections,
    }),

    measures,

    lanes: lanesSchema,
    events: eventsSchema,
  },
  { additionalProperties: false, $id: 'sweepwise-scenario' },
);

/** A complete scenario: every key present and within its bounds. Made by `resolveScenario`. */
export type Scenario = Static<typeof scenarioSchema>;

/** A schema entry for one number, as the page's controls read it. */
export type QuantitySchema = TNumber & { unit: string; default: number; minimum: number; maximum: number };
